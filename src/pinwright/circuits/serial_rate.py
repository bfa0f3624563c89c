"""Baud rates: what a divider makes of a clock, and how far both ends of a line may be apart.

divisor = f / (16 baud), 8 in double speed; error = actual / wanted - 1   [ATmega48/88/168 data sheet 2545D, USART chapter,
examples of register settings]
Slowest and fastest incoming rate, from the samples of a bit   [ATmega328P data sheet DS40002061A, 20.8.3, Equation 1]
Tolerances of clocks stand with their sources in ``CLOCK_TOLERANCE``.  What needs no source is tagged derived or definition.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from pinwright.circuits.bounds import not_negative, positive, share
from pinwright.circuits.ranges import Range
from pinwright.errors import OutOfRange

__all__ = [
    "CLOCK_TOLERANCE",
    "RECOMMENDED",
    "Divisor",
    "LinkBudget",
    "divisor",
    "frame_window",
    "is_within",
    "link_budget",
    "receiver_window",
    "recommended_error",
]

RECOMMENDED = {
    16: {5: 0.030, 6: 0.025, 7: 0.020, 8: 0.020, 9: 0.015, 10: 0.015},
    8: {5: 0.025, 6: 0.020, 7: 0.015, 8: 0.015, 9: 0.015, 10: 0.010},
}
"""Largest error recommended for each end, by samples a bit and bits of a frame with parity.   [ATmega328P, Tables 20-2 and 20-3;
ATmega8 2486AA prints 2.0 % for 6 bits and 16 samples]"""

CLOCK_TOLERANCE = {
    "crystal": (50e-6, "common data sheet figure, from memory"),
    "ceramic-resonator": (0.005, "common data sheet figure, from memory"),
    "rc-trimmed": (0.01, "oscillator calibrated by the user, 8-bit controllers, from memory"),
    "rc-factory": (0.10, "factory calibration over voltage and temperature, 8-bit controllers, from memory"),
}
"""Tolerance of a clock as a share, and where it is from.  The data sheet of the part at hand comes first: DS40002061A, 20.8.3, warns
of resonators more than 2 % off."""


@dataclass(frozen=True, slots=True)
class Divisor:
    """Divisor of a baud generator, the rate it gives and the error as a share.  ``register`` is what many chips want: one less."""

    value: float
    baud: float
    error: float

    @property
    def register(self) -> int:
        """Whole divisor less one [-]."""
        return math.floor(self.value) - 1


def divisor(f_clk_hz: float, baud: float, samples: int = 16, fraction_bits: int = 0, value_max: float = 4096) -> Divisor:
    """Divisor nearest to a rate: round(f / (samples baud)), to a fraction where the generator has one.   [2545D]

    Parameters
    ----------
    f_clk_hz : clock of the generator [Hz]
    baud : wanted rate [baud]
    samples : clocks a bit, 16 or 8 [-]
    fraction_bits : binary places of the divisor [-]
    value_max : largest divisor, 4096 for a register of 12 bits [-]

    Returns
    -------
    divisor : divisor, true rate, error [-]

    Raises
    ------
    OutOfRange : a value is not positive, or the rate is too low for the register.

    >>> made = divisor(16e6, 115200)
    >>> made.register, f"{made.error * 100:.1f} %"
    (8, '-3.5 %')
    """
    positive(f_clk_hz=f_clk_hz, baud=baud, samples=samples, value_max=value_max)
    not_negative(fraction_bits=fraction_bits)
    steps = 1 << fraction_bits
    exact = f_clk_hz / (samples * baud)
    value = max(1.0, math.floor(exact * steps + 0.5) / steps)
    if value > value_max:
        raise OutOfRange(f"{baud:g} Bd is too slow for this clock: it goes down to {f_clk_hz / (samples * value_max):.3g} Bd.")
    found = f_clk_hz / (samples * value)
    return Divisor(value, found, found / baud - 1)


def receiver_window(d_bits: int, samples: int = 16) -> tuple[float, float]:
    """Slowest and fastest incoming rate over the receiver's own that is still read right.   [DS40002061A, Equation 1]

    slow = (D+1) S / (S - 1 + D S + SF),  fast = (D+2) S / ((D+1) S + SM)

    Parameters
    ----------
    d_bits : data and parity bits together, 5 to 10 [-]
    samples : samples a bit, 16 or 8 [-]

    Returns
    -------
    window : slowest and fastest ratio [-]

    Raises
    ------
    OutOfRange : no such frame or number of samples.

    >>> [f"{ratio * 100:.2f} %" for ratio in receiver_window(8)]
    ['95.36 %', '104.58 %']
    """
    if samples not in RECOMMENDED or not 5 <= d_bits <= 10:
        raise OutOfRange(f"Known are frames of 5 to 10 bits with 8 or 16 samples, not {d_bits} bits with {samples}.")
    first, middle = samples // 2, samples // 2 + 1
    slow = (d_bits + 1) * samples / (samples - 1 + d_bits * samples + first)
    fast = (d_bits + 2) * samples / ((d_bits + 1) * samples + middle)
    return slow, fast


def frame_window(bits: int, edge_share: float = 0.5) -> tuple[float, float]:
    """The same for any receiver that samples once near the middle: half a bit over the frame.   [derived]

    Parameters
    ----------
    bits : bits from the start edge to the middle of the stop bit, rounded up: 10 for 8N1 [-]
    edge_share : share of a bit left to drift, less where edges are slow; at most a half [-]

    Returns
    -------
    window : slowest and fastest ratio [-]

    Raises
    ------
    OutOfRange : a value is not positive, or more than half a bit is left.

    >>> [f"{ratio * 100:.1f} %" for ratio in frame_window(10)]
    ['95.0 %', '105.6 %']
    """
    positive(bits=bits, edge_share=edge_share)
    if bits < 2:
        raise OutOfRange(f"A frame has a start bit and at least one more, not {bits} in all.")
    if edge_share > 0.5:
        raise OutOfRange(f"At most half a bit is left to drift, not {edge_share:g}.")
    last = bits - 0.5  # bit times from the start edge to the sample of the stop bit
    return last / (last + edge_share), last / (last - edge_share)


def recommended_error(d_bits: int, samples: int = 16) -> float:
    """Largest error recommended for each end of a line: about half of the window, with some room.   [ATmega328P]

    Parameters
    ----------
    d_bits : data and parity bits together, 5 to 10 [-]
    samples : samples a bit, 16 or 8 [-]

    Returns
    -------
    error : share of the rate, either sign [-]

    Raises
    ------
    OutOfRange : no such frame or number of samples.

    >>> recommended_error(8), recommended_error(8, samples=8)
    (0.02, 0.015)
    """
    receiver_window(d_bits, samples)
    return RECOMMENDED[samples][d_bits]


def is_within(error: float, limit: float) -> bool:
    """Whether an error, of either sign, stays within a limit.   [definition]

    Parameters
    ----------
    error : share of the rate [-]
    limit : largest share allowed [-]

    Returns
    -------
    within : the limit itself is within [-]

    Raises
    ------
    OutOfRange : the limit is negative.

    >>> is_within(-0.035, 0.02)
    False
    """
    not_negative(limit=limit)
    return abs(error) <= limit * (1 + 1e-12)


@dataclass(frozen=True, slots=True)
class LinkBudget:
    """Incoming rate over the receiver's own, at worst, and the room to both ends of its window as shares; negative fails."""

    ratio: Range
    slow_room: float
    fast_room: float

    @property
    def works(self) -> bool:
        """Room on both sides."""
        return self.slow_room >= 0 and self.fast_room >= 0


def link_budget(
    tx_error: float, tx_tolerance: float, rx_error: float, rx_tolerance: float, window: tuple[float, float] | None = None
) -> LinkBudget:
    """Both ends together: errors of the divisors and tolerances of the clocks against the receiver's window.   [derived]

    Parameters
    ----------
    tx_error : error of the sender's divisor [-]
    tx_tolerance : tolerance of the sender's clock [-]
    rx_error : error of the receiver's divisor [-]
    rx_tolerance : tolerance of the receiver's clock [-]
    window : slowest and fastest ratio, that of 8 bits and 16 samples if none is given [-]

    Returns
    -------
    budget : ratio at worst and the room left [-]

    Raises
    ------
    OutOfRange : a tolerance is no share, or an error leaves no rate.

    >>> budget = link_budget(0.0, 0.0001, -0.035, 0.005)
    >>> f"{budget.fast_room * 100:.2f} % left", budget.works
    ('0.42 % left', True)
    """
    share(tx_tolerance=tx_tolerance, rx_tolerance=rx_tolerance)
    positive(tx_rate=1 + tx_error, rx_rate=1 + rx_error, rx_slowest_clock=1 - rx_tolerance)
    slow, fast = receiver_window(8) if window is None else window
    low = (1 + tx_error) * (1 - tx_tolerance) / ((1 + rx_error) * (1 + rx_tolerance))
    high = (1 + tx_error) * (1 + tx_tolerance) / ((1 + rx_error) * (1 - rx_tolerance))
    return LinkBudget(Range(low, high, (1 + tx_error) / (1 + rx_error)), low - slow, fast - high)
