"""What differs between the ports of MicroPython, read from ``ports.toml``, where the sources stand."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, Literal

__all__ = ["AdcSetting", "Port", "port_of", "ports"]

_FILE = Path(__file__).with_name("ports.toml")


@dataclass(frozen=True, slots=True, kw_only=True)
class AdcSetting:
    """How an input range is chosen (``range`` empty: every other one).

    ``arguments`` of the constructor; the highest code stands for ``full_v`` [V] or, where that follows the supply, for ``share`` of it.
    ``microvolts``: the runtime gives calibrated readings itself.
    """

    range: str = ""
    arguments: str = ""
    full_v: float | None = None
    share: float | None = None
    microvolts: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Port:
    """One port of the runtime.

    ``pin``: a pin by its number, by ``Pin.cpu`` name, or by port times 32 plus number; ``open_drain``: there is a mode for it.
    ``adc_by``: a converter by its pin or by its channel; ``adc``: settings by the name of the range.
    ``i2c``, ``spi``: ``pins``: hardware on the pins given; ``soft``: bit-banged, for the hardware has pins of its own;
    ``fixed``: hardware with fixed pins.  ``spi_id``: number of an instance less this; ``uart``: takes pins or has fixed ones.
    ``pwm_most_hz``: fastest PWM [Hz]; ``hard_irq``: handlers may run at once; ``pulse``: it times pulses itself.
    ``modules``: drivers that come with it.
    ``sleep``: ``deep``: wakes by pin (functions of ``sleep_module``) and starts anew; ``timer``: by timer only; ``irq``: light sleep
    until an interrupt; ``nap``: no pin wakes it, so it naps and looks.
    """

    name: str
    pin: Literal["number", "cpu-short", "cpu", "port32"]
    open_drain: bool
    adc_by: Literal["pin", "channel"]
    i2c: Literal["pins", "soft"]
    spi: Literal["pins", "soft", "fixed"]
    uart: Literal["pins", "fixed"]
    hard_irq: bool
    pulse: bool
    sleep: Literal["deep", "timer", "irq", "nap"]
    adc: Mapping[str, AdcSetting] = field(default_factory=dict)
    spi_id: int = 0
    i2s: bool = False
    touch: bool = False
    dac: Literal["", "pin", "number"] = ""
    pwm_most_hz: float | None = None
    modules: tuple[str, ...] = ()
    sleep_module: str = ""


def _read(table: Mapping[str, Any]) -> Port:
    settings = [AdcSetting(**setting) for setting in table.get("adc", ())]
    rest: dict[str, Any] = {key: tuple(value) if isinstance(value, list) else value for key, value in table.items() if key != "adc"}
    return Port(adc={setting.range: setting for setting in settings}, **rest)


@cache
def ports() -> Mapping[str, Port]:
    """All ports by name."""
    with _FILE.open("rb") as file:
        return {table["name"]: _read(table) for table in tomllib.load(file)["port"]}


def port_of(packages: tuple[tuple[str, str], ...]) -> Port | None:
    """Port of MicroPython for a chip, from (language, package) pairs of its facts; ``None`` where none is known.

    >>> port_of((("micropython", "micropython-esp32-esp32-generic-c3-stubs"),)).name
    'esp32'
    >>> port_of((("cpp", "arduino"),)) is None
    True
    """
    for language, package in packages:
        found = re.match(r"micropython-([a-z0-9]+)", package)
        if language == "micropython" and found and found.group(1) in ports():
            return ports()[found.group(1)]
    return None
