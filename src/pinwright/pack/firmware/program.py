"""From a plan to the programme of the device, in no language yet.

    program = program_of(plan, job)      # plan: a BoardPlan that is feasible, job: result.ranking.job

The classes stand in ``model``; in short:

- ``program.pins`` (brief's order) and ``program.set_up`` (the same pins, in the order to set them up): ``Pin.name`` is an identifier in
  upper case, safe in every language (``snake``: lower case); ``gpio``/``pad``/``label`` say where; ``kind`` what it is to firmware;
  ``first_level`` must be written BEFORE the pin becomes an output (``None``: not driven), ``active_level`` switches the part on,
  ``must_stay_off``: only on command; ``pull``, ``interrupt``, ``debounce_s``, ``wake``; ``reasons`` for comments.
- Order of set-up: outputs that must stay off, all other driven pins (also those PWM takes later: first a plain output at ``first_level``),
  inputs, buses, PWM at duty off, converters, interrupts last.
- ``pwms``, ``analogs``, ``dacs``, ``buses``, ``echoes``, ``encoders`` refer to pins; the rest (input, output, counter, one-wire, ...) is
  told by ``Pin.kind`` (``program.of("input")``).  ``devices`` are the parts with their pins and drivers.
- ``sleep`` is ``None`` where the brief wants none.  ``steps`` is the self-test in its order.  ``left_out``: what cannot be done, in words.
- Texts (``title``, ``words``, ``reasons``, ``do``, ``expect``, ``left_out``) may be hostile: write them through ``names.c_comment``,
  ``names.c_string``, ``names.python_comment``, ``names.python_string``; ``names.cut`` shortens them.  Identifiers never need escaping.
- Further identifiers an emitter needs are ``Pin.name`` with a suffix (``_PIN``, ``_HZ``, ...): two suffixes never collide.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from pinwright.pack.firmware.analog import analog_of
from pinwright.pack.firmware.buses import buses_of
from pinwright.pack.firmware.model import Analog, Device, DriverNote, Echo, Encoder, Pin, Program
from pinwright.pack.firmware.names import Namer
from pinwright.pack.firmware.outputs import dac_of, pwm_of
from pinwright.pack.firmware.pins import pins_of
from pinwright.pack.firmware.sleeping import sleep_of
from pinwright.pack.firmware.steps import steps_of

if TYPE_CHECKING:
    from pinwright.facts.model import Chip, Part
    from pinwright.fitting.plan import BoardPlan, Placed
    from pinwright.fitting.rank import Job

__all__ = ["program_of"]


def program_of(plan: BoardPlan, job: Job) -> Program:
    """The programme for a feasible plan.

    Parameters
    ----------
    plan : a plan with a pin for every line [-]
    job : the job it was made for [-]

    Returns
    -------
    program : everything firmware must know [-]

    Raises
    ------
    ValueError : the board cannot do the job, so there is no plan.
    """
    if not plan.feasible:
        raise ValueError("There is no plan to write firmware for.")
    view, namer = plan.view, Namer()
    parts = {d.name: job.catalogue.parts[d.kind] for d in job.nets.devices if d.kind in job.catalogue.parts}
    by_net: dict[int, list[Placed]] = {}
    for placed in plan.placed:
        by_net.setdefault(placed.candidate.net, []).append(placed)
    groups = [tuple(group) for group in by_net.values()]
    pins = pins_of(groups, parts, namer)
    at = dict(zip(groups, pins, strict=True))
    left_out = [f"{pin.words} on {pin.label}: {pad.needs_setup}" for group, pin in at.items() if (pad := group[0].place.pad).needs_setup]
    program = Program(
        title=job.file.brief.title,
        board=view.board.name,
        board_id=view.board.id,
        chip=view.chip.part,
        logic_v=view.board.logic_v,
        languages=tuple(dict.fromkeys(firmware.language for firmware in view.chip.firmware)),
        packages=tuple((firmware.language, firmware.package) for firmware in view.chip.firmware),
        radio=tuple(job.setting.radio),
        pins=pins,
        set_up=tuple(sorted(pins, key=_set_up_order)),
        devices=_devices(job, groups, at, parts, view.chip, namer),
        pwms=tuple(pwm_of(group[0], pin, view, parts.get(pin.part)) for group, pin in at.items() if pin.kind == "pwm"),
        analogs=_analogs(plan, job, at, left_out),
        dacs=tuple(dac_of(pin, group[0], view) for group, pin in at.items() if pin.kind == "dac"),
        buses=buses_of(plan, dict(zip(by_net, pins, strict=True)), parts, namer),
        echoes=_echoes(pins, namer),
        encoders=_encoders(pins, namer),
        sleep=sleep_of(plan, job, pins, left_out),
        console_taken=any(placed.place.is_console for placed in plan.placed),
    )
    return replace(program, steps=steps_of(program), left_out=tuple(left_out))


def _set_up_order(pin: Pin) -> int:
    """Outputs that must stay off, other driven pins, inputs, buses, converters; each in the order of the brief."""
    if pin.is_driven:
        return 0 if pin.must_stay_off else 1
    return {"bus": 3, "one-wire": 3, "analog": 4, "dac": 4, "touch": 4}.get(pin.kind, 2)


def _analogs(plan: BoardPlan, job: Job, at: dict[tuple[Placed, ...], Pin], left_out: list[str]) -> tuple[Analog, ...]:
    found = []
    for group, pin in at.items():
        if pin.kind != "analog":
            continue
        analog = analog_of(group[0], pin, plan.view, job.setting.bench)
        if analog is None:
            left_out.append(f"{pin.words}: no converter is known on this pad.")
        else:
            found.append(analog)
    return tuple(found)


def _devices(
    job: Job, groups: list[tuple[Placed, ...]], at: dict[tuple[Placed, ...], Pin], parts: dict[str, Part], chip: Chip, namer: Namer
) -> tuple[Device, ...]:
    found = []
    for device in job.nets.devices:
        part = parts.get(device.name)
        own = tuple(at[group] for group in groups if any(placed.line.part == device.name for placed in group))
        found.append(
            Device(
                name=namer.constant(device.name, "PART"),
                words=device.name,
                kind=part.kind if part else "",
                title=device.title,
                mpn=part.mpn if part else "",
                pins=own,
                drivers=_drivers(part, chip) if part else (),
                needs_no_driver=part.needs_no_driver if part else False,
            )
        )
    return tuple(found)


def _drivers(part: Part, chip: Chip) -> tuple[DriverNote, ...]:
    """Drivers that run on this chip."""
    return tuple(
        DriverNote(driver.language, driver.package, driver.builtin, driver.note)
        for driver in part.driver
        if (not driver.only or chip.part in driver.only) and chip.part not in driver.not_on
    )


def _echoes(pins: tuple[Pin, ...], namer: Namer) -> tuple[Echo, ...]:
    triggers = {pin.part: pin for pin in pins if pin.kind == "output"}
    return tuple(
        Echo(namer.constant(pin.part, "DISTANCE"), pin.part, triggers[pin.part], pin)
        for pin in pins
        if pin.kind == "echo" and pin.part in triggers
    )


def _encoders(pins: tuple[Pin, ...], namer: Namer) -> tuple[Encoder, ...]:
    by_part: dict[str, list[Pin]] = {}
    for pin in pins:
        if pin.kind == "encoder":
            by_part.setdefault(pin.part, []).append(pin)
    return tuple(Encoder(namer.constant(part, "TURNS"), part, *both) for part, both in by_part.items() if len(both) == 2)
