"""The report's page before strict judges: a validator of HTML, a checker of accessibility in a real browser, and no network."""

from __future__ import annotations

from pathlib import Path

import pytest
import tools

SCHEMES = {"light": "rgb(255, 253, 248)", "dark": "rgb(22, 27, 34)"}
WIDTHS = {"wide": 1280, "narrow": 360}


def test_the_page_is_valid(built, validator):
    # oracle: the validator of the HTML Living Standard, with SVG and ARIA
    assert validator(built[1] / "report.html") == []


BROKEN = {
    "id-twice": '<p id="content">x</p>',
    "no-end": "<table><tr><td>x",
    "stray-item": "<div><li>x</li></div>",
    "link-in-link": '<a href="#x"><a href="#y">z</a></a>',
    "odd-attribute": '<svg><rect foo="1"/></svg>',
}


def test_the_validator_bites(small, validator, tmp_path: Path):
    page = (small[1] / "report.html").read_text(encoding="utf-8")
    head = page.split('<section id="cautions"')[0].replace('href="#', 'href="#content" data-x="')
    copies = {name: tmp_path / f"{name}.html" for name in ("whole", *BROKEN)}
    for name, copy in copies.items():
        copy.write_text(f"{head}{BROKEN.get(name, '')}</main></body></html>", encoding="utf-8")
    said = validator(*copies.values())
    assert {name for name, copy in copies.items() if any(copy.name in words for words in said)} == set(BROKEN)


ALL = [("bakery-proofer", scheme, width) for scheme in SCHEMES for width in WIDTHS]


@pytest.mark.parametrize(("name", "scheme", "width"), [*ALL, ("oven-wall", "light", "narrow"), ("oven-wall", "dark", "wide")])
def test_the_page_is_accessible(packs, browser, tmp_path: Path, name: str, scheme: str, width: str):
    # oracle: axe-core, every rule it has on (WCAG 2 A and AA and best practices)
    found = tools.judge(packs(name)[1] / "report.html", scheme, WIDTHS[width], tmp_path)
    assert found["violations"] == []
    assert found["passes"] > 20
    assert found["dark"] == (scheme == "dark")
    assert found["paper"] == SCHEMES[scheme]
    assert found["width"] == WIDTHS[width]
    assert found["fetched"] == []
    assert found["too_wide"] <= 0, "the page is wider than its window: only tables and drawings may scroll, each for itself"


@pytest.mark.parametrize(
    ("broken", "rule"),
    [
        ('<p style="color:#bbb;background:#fff">faint</p>', "color-contrast"),
        ('<img src="data:,">', "image-alt"),
        ('<div role="img"></div>', "role-img-alt"),
        ("<h5>deep</h5>", "heading-order"),
    ],
)
def test_the_checker_bites(small, browser, tmp_path: Path, broken: str, rule: str):
    page = (small[1] / "report.html").read_text(encoding="utf-8")
    copy = tmp_path / "broken.html"
    copy.write_text(page.split('<section id="cautions"')[0] + f"{broken}</main></body></html>", encoding="utf-8")
    assert rule in {found["id"] for found in tools.judge(copy, "light", 1280, tmp_path)["violations"]}
