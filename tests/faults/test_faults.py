"""Faults makers run into, and twins of them that are fine: does a check come out right, and for the right reason?

Behaviour: one brief a fault, pins fixed as the maker had them, through ``pinwright.planning.check``.  Verdicts and the
words that must be said come from ``expected.toml``, which names the source of each fault.  Right for the right reason
means: the verdict is as expected, a finding of one of the named rules carries it, and what those findings say of the
fault holds every token (or a synonym listed beside it).  Names of files do not count as words.
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from pinwright.facts.loader import Catalogue
from pinwright.planning import check, open_job
from pinwright.review.model import Finding, Review

HERE = Path(__file__).parent
FAULTS: list[dict[str, Any]] = tomllib.loads((HERE / "expected.toml").read_text(encoding="utf-8"))["fault"]
BY_ID = {fault["id"]: fault for fault in FAULTS}

MILD = ("needs-component",)
"""Cautions that only list what the brief's own circuit takes."""

SEVERITY = {"refuse": "refuse", "warn": "caution"}
VERDICT = {"refuse": "refused", "warn": "caution"}


def reviewed(fault: dict[str, Any], catalogue: Catalogue) -> Review:
    result = check(open_job(HERE / "briefs" / f"{fault['id']}.toml", catalogue=catalogue))
    assert result.board == fault["board"]
    return result.review


def words(findings: list[Finding]) -> str:
    """All a maker reads of some findings, without the names of briefs (which would give the answer away)."""
    text = " ".join(" ".join((f.line, f.pin, *f.because, *f.numbers.values(), f.fix)) for f in findings)
    return re.sub(r"[\w-]+\.toml:\d+", "", text).casefold()


def faults(*verdicts: str) -> list[Any]:
    """Parameters for the faults with these verdicts."""
    return [pytest.param(fault, id=fault["id"]) for fault in FAULTS if fault["verdict"] in verdicts]


@pytest.mark.parametrize("fault", faults("refuse", "warn"))
def test_fault_is_found_for_the_right_reason(fault: dict[str, Any], with_own_boards: Catalogue) -> None:
    review = reviewed(fault, with_own_boards)
    assert review.verdict == VERDICT[fault["verdict"]]
    about = [finding for finding in review.findings if finding.rule in fault["rules"]]
    assert SEVERITY[fault["verdict"]] in {finding.severity for finding in about}, [f.rule for f in review.findings]
    said = words(about)
    missing = [token for token in fault["tokens"] if not any(word.casefold() in said for word in token.split("|"))]
    assert not missing, said


@pytest.mark.parametrize("fault", faults("accept"))
def test_twin_is_accepted(fault: dict[str, Any], with_own_boards: Catalogue) -> None:
    review = reviewed(fault, with_own_boards)
    allowed = (*MILD, *fault.get("allow", ()))
    blocking = [f for f in review.findings if f.severity != "note" and not f.rule.startswith("safety-") and f.rule not in allowed]
    assert not blocking, [(f.severity, f.rule, f.because) for f in blocking]


# ------------------------------------------------------------------------------ the list itself


def test_every_fault_has_its_brief_and_every_brief_its_fault() -> None:
    assert {path.stem for path in (HERE / "briefs").glob("*.toml")} == set(BY_ID)
    assert len(BY_ID) == len(FAULTS) == 79


def test_twins_are_of_the_other_kind() -> None:
    for fault in FAULTS:
        twin = fault.get("twin")
        if twin:
            assert {fault["verdict"] == "accept", BY_ID[twin]["verdict"] == "accept"} == {True, False}, fault["id"]


def test_every_fault_names_source_mechanism_and_tokens() -> None:
    for fault in FAULTS:
        assert fault["mechanism"], fault["id"]
        assert all(source["ref"] and source["seen"] in ("read", "memory") for source in fault["sources"]), fault["id"]
        assert fault["sources"], fault["id"]
        assert fault["verdict"] == "accept" or (fault["tokens"] and fault["rules"]), fault["id"]


def test_tokens_do_not_stand_in_the_brief_by_accident(with_own_boards: Catalogue) -> None:
    """A name the brief gives its parts must not be what makes a message hold its token; a few parts are called after what they are."""
    for fault in FAULTS:
        brief = tomllib.loads((HERE / "briefs" / f"{fault['id']}.toml").read_text(encoding="utf-8"))
        names = " ".join(part["name"] for part in brief["part"]).casefold()
        given = [token for token in fault.get("tokens", ()) if any(word.casefold() in names for word in token.split("|"))]
        assert given == CALLED_AFTER.get(fault["id"], []), fault["id"]


CALLED_AFTER = {"irf520-gate-at-3v3": ["IRF520"], "servos-on-usb-5v": ["servo"]}
