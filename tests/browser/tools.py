"""Run a validator of HTML, a browser without a window, and the tools that read PDF files."""

from __future__ import annotations

import html
import json
import re
import shutil
import subprocess
import tempfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent
AXE = FOLDER / "node_modules" / "axe-core" / "axe.min.js"
VALIDATOR = FOLDER / "node_modules" / "vnu-jar" / "build" / "dist" / "vnu.jar"
_INSTALL = "Install it with: npm ci --ignore-scripts --prefix tests/browser"
_POPPLER = ("pdftotext", "pdfinfo", "pdffonts")
QUIET = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync", "--hide-scrollbars")  # fmt: skip
"""Chromium alone in a closed network: it asks nobody for anything."""


def missing_validator() -> str:
    if shutil.which("java") is None:
        return "Java is not installed (Debian: default-jre-headless)."
    return "" if VALIDATOR.is_file() else f"The validator of HTML is not installed. {_INSTALL}"


def missing_browser() -> str:
    if shutil.which("chromium") is None:
        return "Chromium is not installed (Debian: chromium)."
    return "" if AXE.is_file() else f"axe-core is not installed. {_INSTALL}"


def missing_poppler() -> str:
    lacking = [name for name in _POPPLER if shutil.which(name) is None]
    return f"{', '.join(lacking)} missing (Debian: poppler-utils)." if lacking else ""


def validate(*pages: Path) -> list[str]:
    """What the validator complains of, warnings too, with the name of the page."""
    command = ["java", "-Xss2m", "-jar", str(VALIDATOR), "--format", "json", "--stdout", *map(str, pages)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)
    return [f"{m['url']}, line {m.get('lastLine')}: {m['message']}" for m in json.loads(done.stdout)["messages"]]


def chromium(*args: str) -> str:
    with tempfile.TemporaryDirectory() as profile:
        command = ["chromium", *QUIET, f"--user-data-dir={profile}", *args]
        done = subprocess.run(command, capture_output=True, text=True, timeout=180, check=False)
    assert done.returncode == 0, done.stderr[-2000:]
    return done.stdout


def dump_dom(page: Path, scheme: str, *args: str) -> str:
    """The page after its scripts ran, in light or dark."""
    wish = f"--blink-settings=preferredColorScheme={0 if scheme == 'dark' else 1}"
    return chromium(wish, "--virtual-time-budget=120000", "--dump-dom", *args, f"file://{page}")


_JUDGE = """
window.addEventListener('load', () => axe.run(document, {resultTypes: ['violations', 'incomplete']}).then(found => {
  const root = document.scrollingElement;
  const shown = list => list.map(rule => ({id: rule.id, help: rule.help, count: rule.nodes.length,
    nodes: rule.nodes.slice(0, 3).map(node => node.html.slice(0, 200) + ' ' + node.failureSummary)}));
  top.document.title = 'JUDGED' + JSON.stringify({violations: shown(found.violations), incomplete: shown(found.incomplete),
    passes: found.passes.length, dark: matchMedia('(prefers-color-scheme: dark)').matches, width: innerWidth,
    too_wide: root.scrollWidth - root.clientWidth, paper: getComputedStyle(document.documentElement).backgroundColor,
    fetched: performance.getEntriesByType('resource').map(entry => entry.name)});
}));
"""


def judge(page: Path, scheme: str, width: int, folder: Path) -> dict[str, Any]:
    """Run axe over a copy of the page, as wide as that; a narrow one stands in a frame, for windows have a least width."""
    text = page.read_text(encoding="utf-8")
    script = f"<script>{AXE.read_text(encoding='utf-8')}</script><script>{_JUDGE}</script></body>"
    judged = text.replace("</body>", script)
    if width < 500:
        judged = (
            f'<!DOCTYPE html><html lang="en"><title>x</title><iframe width="{width}" height="900" srcdoc="{html.escape(judged)}"></iframe>'
        )
    copy = folder / "judged.html"
    copy.write_text(judged, encoding="utf-8")
    dom = dump_dom(copy, scheme, f"--window-size={max(width, 600)},1000")
    said = re.search(r"<title>JUDGED(.*?)</title>", dom, re.DOTALL)
    assert said, dom[:500]
    found: dict[str, Any] = json.loads(html.unescape(said[1]))
    return found


# ------------------------------------------------------------------------------ PDF


@dataclass(frozen=True)
class Printed:
    """A PDF as read: text, sizes of pages, words with their boxes [pt], fonts."""

    text: str
    pages: list[tuple[float, float]]
    words: list[tuple[int, str, float, float, float, float]]
    fonts: list[str]


@cache
def read_pdf(path: Path) -> Printed:
    def run(*command: str) -> str:
        return subprocess.run(command, capture_output=True, text=True, timeout=60, check=True).stdout

    text = run("pdftotext", "-layout", str(path), "-")
    boxes = run("pdftotext", "-bbox", str(path), "-")
    pages: list[tuple[float, float]] = []
    words = []
    for line in boxes.splitlines():
        page = re.search(r'<page width="([\d.]+)" height="([\d.]+)"', line)
        word = re.search(r'<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">(.*)</word>', line)
        if page:
            pages.append((float(page[1]), float(page[2])))
        elif word:
            x0, y0, x1, y1 = (float(word[number]) for number in range(1, 5))
            words.append((len(pages), html.unescape(word[5]), x0, y0, x1, y1))
    fonts = run("pdffonts", str(path)).splitlines()[2:]
    return Printed(text, pages, words, fonts)
