"""Behaviour: the helpers of this folder do not let silence pass for agreement."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

import pytest

Text = Callable[[str, str], str]
Folder = Callable[[str, str], Path]
Settle = Callable[[Iterable[str], Mapping[str, str]], None]


def test_missing_package_is_skipped_at_home(debian_text: Text, package_folder: Folder, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("CI", raising=False)
    with pytest.raises(pytest.skip.Exception, match="apt-get install nobody"):
        debian_text("nobody", "/nonexistent/file.h")
    with pytest.raises(pytest.skip.Exception, match="pip install no-such-package"):
        package_folder("no-such-package", "file")


def test_missing_package_fails_in_continuous_integration(
    debian_text: Text, package_folder: Folder, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="is not installed"):
        debian_text("nobody", "/nonexistent/file.h")
    with pytest.raises(pytest.fail.Exception, match="is not installed"):
        package_folder("pytest", "no/such/file")


def test_unexplained_disagreement_fails(settle: Settle) -> None:
    with pytest.raises(AssertionError, match=r"unexplained disagreements:\s+PB1 differs"):
        settle(["PB1 differs"], {})


def test_explanation_nobody_needs_fails(settle: Settle) -> None:
    with pytest.raises(AssertionError, match=r"explanations no longer needed:\s+PB1 differs"):
        settle([], {"PB1 differs": "why"})


def test_explained_disagreement_passes(settle: Settle) -> None:
    settle(["PB1 differs"], {"PB1 differs": "why"})
