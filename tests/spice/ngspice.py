"""A netlist to ngspice and back: numbers by name, or a failure that shows what ngspice said.

Corners are simulated side by side: independent copies of a circuit that share nothing but ground, in one netlist and one
run of some milliseconds.  ``Sheet`` gives every copy nodes of its own.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import tempfile
from collections.abc import Iterable
from pathlib import Path

__all__ = ["Sheet", "SpiceError", "available", "run"]

TIMEOUT_S = 60
POINTS = 4000
"""Steps of a transient at least: a hundred times finer than the 2 % asked of times."""
_NUMBER = re.compile(r"^\s*([a-z_]\w*)\s*=\s*([-+]?\d[\d.]*(?:e[-+]?\d+)?)", re.IGNORECASE | re.MULTILINE)
_TROUBLE = re.compile(r"error|singular|failed|aborted|no convergence|can't find|unknown", re.IGNORECASE)


class SpiceError(RuntimeError):
    """ngspice refused the netlist or measured less than asked; the text holds what it said, and the netlist."""


def available() -> bool:
    """Whether ngspice is installed."""
    return shutil.which("ngspice") is not None


def run(netlist: str, wanted: Iterable[str] = ()) -> dict[str, float]:
    """Simulate a netlist with a ``.control`` block that prints or measures; give every ``name = number`` it said.

    ``wanted``: names that must be among them.  Raises SpiceError.
    """
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "circuit.cir")
        path.write_text(netlist, encoding="ascii")
        environment = os.environ | {"LC_ALL": "C"}
        try:
            done = subprocess.run(
                ["ngspice", "-b", "-n", str(path)], capture_output=True, text=True, timeout=TIMEOUT_S, cwd=folder, env=environment
            )
        except subprocess.TimeoutExpired:
            raise SpiceError(f"ngspice did not end within {TIMEOUT_S} s.\n{netlist}") from None
    said = done.stdout + done.stderr
    found = {name.lower(): float(number) for name, number in _NUMBER.findall(done.stdout)}
    missing = sorted({name.lower() for name in wanted} - set(found))
    trouble = [line.strip() for line in said.splitlines() if _TROUBLE.search(line) and not _NUMBER.match(line)]
    if done.returncode or missing or trouble:
        lacks = f", without {', '.join(missing)}" if missing else ""
        raise SpiceError("\n".join((f"ngspice ended with {done.returncode}{lacks}.", *trouble, "Netlist:", netlist)))
    return found


class Sheet:
    """Circuits side by side, and what to read of them.  Node 0 is ground; values in SI units; times from 0."""

    def __init__(self) -> None:
        self._lines: list[str] = []
        self._asked: dict[str, str] = {}
        self._count = 0

    def node(self) -> str:
        """A node nobody uses yet."""
        self._count += 1
        return f"n{self._count}"

    def add(self, letter: str, *words: object) -> str:
        """Any element: its letter, nodes and value.  Gives its name."""
        self._count += 1
        name = f"{letter}{self._count}"
        self._lines.append(" ".join((name, *(f"{w:.12g}" if isinstance(w, float) else str(w) for w in words))))
        return name

    def model(self, text: str) -> None:
        """A ``.model`` line, without the word."""
        self._lines.append(f".model {text}")

    def source(self, v: float) -> str:
        """A node held at a voltage against ground."""
        node = self.node()
        self.add("V", node, 0, f"dc {v:.12g}")
        return node

    def step(self, before: float, after: float, at_s: float = 0.0, edge_s: float = 1e-12) -> str:
        """A node that steps from one voltage to another and stays there."""
        node = self.node()
        self.add("V", node, 0, f"pwl(0 {before:.12g} {at_s:.12g} {before:.12g} {at_s + edge_s:.12g} {after:.12g})" if at_s
                 else f"pwl(0 {before:.12g} {edge_s:.12g} {after:.12g})")  # fmt: skip
        return node

    def resistor(self, a: object, b: object, ohm: float) -> str:
        """A resistor."""
        return self.add("R", a, b, float(ohm))

    def capacitor(self, a: object, b: object, farad: float, start_v: float | None = None) -> str:
        """A capacitor; ``start_v`` only counts in a transient from given states."""
        return self.add("C", a, b, f"{farad:.12g}" + ("" if start_v is None else f" ic={start_v:.12g}"))

    def current(self, a: object, b: object, ampere: float) -> str:
        """A current source that takes its current out of ``a`` and gives it to ``b``."""
        return self.add("I", a, b, f"dc {ampere:.12g}")

    def leak(self, node: object, ampere: float) -> str:
        """A leakage from a node to ground; negative: into the node."""
        return self.current(node, 0, ampere)

    def meter(self, a: object, b: object) -> str:
        """A short from ``a`` to ``b`` whose current can be read as ``i(name)``."""
        return self.add("V", a, b, "dc 0")

    def ask(self, name: str, what: str) -> str:
        """Print an expression such as ``v(n1)`` after an operating point."""
        self._asked[name] = f"let {name} = {what}\nprint {name}"
        return name

    def measure(self, name: str, what: str) -> str:
        """Measure a transient: ``when v(n1)=1 rise=1``, ``max v(n1)``, ``find v(n1) at=1u``."""
        self._asked[name] = f"meas tran {name} {what}"
        return name

    def at_dc(self) -> dict[str, float]:
        """Operating point of everything asked."""
        return self._run("op")

    def over_time(self, t_stop_s: float, from_states: bool = False, points: int = POINTS) -> dict[str, float]:
        """Transient; ``from_states``: from the capacitors' and coils' own starting values instead of an operating point."""
        step = t_stop_s / points
        return self._run(f"tran {step:.6g} {t_stop_s:.12g} 0 {step:.6g}{' uic' if from_states else ''}")

    def _run(self, analysis: str) -> dict[str, float]:
        asked = "\n".join(self._asked.values())
        body = "\n".join(self._lines)
        control = f".control\nset numdgt=12\n{analysis}\n{asked}\nquit\n.endc"
        options = ".options reltol=1e-5 abstol=1e-15 vntol=1e-9 gmin=1e-15"
        return run(f"circuits side by side\n{body}\n{options}\n{control}\n.end\n", self._asked)
