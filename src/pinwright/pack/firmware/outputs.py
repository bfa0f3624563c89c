"""PWM and analog outputs as the pools of the chip really give them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pinwright.pack.firmware.model import Dac, Pin, Pwm

if TYPE_CHECKING:
    from pinwright.facts.model import Part
    from pinwright.fitting.places import BoardView
    from pinwright.fitting.plan import Placed

__all__ = ["SERVO_S", "dac_of", "pwm_of"]

SERVO_S = (0.001, 0.002)
"""Pulses every hobby servo follows without running into its stop [s] (common practice, no source)."""


def pwm_of(placed: Placed, pin: Pin, view: BoardView, part: Part | None) -> Pwm:
    """PWM on a pin: the planned frequency, and the bits its pool reaches there."""
    from pinwright.fitting.choices import pwm_bits

    asks, choice = placed.line.asks, placed.choice
    pool = next(pool for pool in view.chip.pwm if pool.id == choice.pool)
    hz = float(placed.mode.split()[0])
    return Pwm(
        pin=pin,
        hz=hz,
        low_hz=asks.needs.pwm_min_hz,
        high_hz=asks.needs.pwm_max_hz,
        bits=pwm_bits(pool, hz, view.clock_scale),
        pool=pool.id,
        timer=choice.timer,
        channel=next((use.channel for use in placed.place.pad.pwm if use.pool == pool.id), ""),
        inverted=pin.active_level == 0,
        tone=asks.needs.square_wave,
        pulse_s=SERVO_S if part is not None and part.kind == "servo" else None,
        software=pool.kind == "software",
        counter_bits=pool.counter_bits,
        clock_hz=pool.clock_hz * view.clock_scale,
    )


def dac_of(pin: Pin, placed: Placed, view: BoardView) -> Dac:
    """The real analog output of a pin."""
    return Dac(pin, placed.place.pad.dac, view.chip.dac_bits or 8, view.board.logic_v)
