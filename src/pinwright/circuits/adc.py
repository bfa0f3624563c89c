"""What an analog-to-digital converter makes of a voltage: codes, steps, noise, and its errors in volts at the input.

Codes and noise of an ideal converter   [MT-001: Analog Devices tutorial MT-001, formula of its title; the data sheet of the
ATmega32A, 8155D (02/2014), section 23 "ADC Conversion Result", for the signed result of a differential input].
What needs no source is tagged definition.
Errors counted in steps as data sheets count them   [ATmega32A; STM32F103x4/x6 data sheet, Doc ID 15060 Rev 6, Table 48].
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from pinwright.circuits.bounds import finite, not_negative, positive, share
from pinwright.circuits.plain import computed
from pinwright.errors import OutOfRange

__all__ = [
    "AdcErrors",
    "InputRange",
    "code",
    "differential_code",
    "enob",
    "left_adjusted",
    "narrowest_range",
    "quantisation_noise",
    "snr_ideal",
    "step",
    "two_complement",
    "volts_of_code",
]


def step(v_full_v: float, bits: float) -> float:
    """Voltage of one step: full scale / 2^bits.   [MT-001]

    Parameters
    ----------
    v_full_v : full-scale voltage, usually the reference [V]
    bits : resolution [-]

    Returns
    -------
    step_v : one step [V]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> f"{step(4.096, 12) * 1e3:.3f} mV"
    '1.000 mV'
    """
    positive(v_full_v=v_full_v, bits=bits)
    one: float = computed(lambda: v_full_v / 2.0**bits)
    return one


def code(v_in_v: float, v_full_v: float, bits: int) -> int:
    """Code an ideal converter answers, held at its ends: floor(V / step).   [ATmega32A]

    Parameters
    ----------
    v_in_v : voltage at the input [V]
    v_full_v : full-scale voltage [V]
    bits : resolution [-]

    Returns
    -------
    code : 0 to 2^bits - 1 [-]

    Raises
    ------
    OutOfRange : the voltage is not finite, or full scale or bits are not positive.

    >>> code(1.65, 3.3, 12), code(5.0, 3.3, 12), code(-0.1, 3.3, 12)
    (2048, 4095, 0)
    """
    finite(v_in_v=v_in_v)
    steps = v_in_v / step(v_full_v, bits)
    return int(min(max(np.floor(steps + 1e-9), 0), 2**bits - 1))


def volts_of_code(code: int, v_full_v: float, bits: int) -> float:
    """Voltage in the middle of what gives a code: (code + 1/2) step.   [MT-001]

    Parameters
    ----------
    code : 0 to 2^bits - 1 [-]
    v_full_v : full-scale voltage [V]
    bits : resolution [-]

    Returns
    -------
    v_in_v : middle of the code's band [V]

    Raises
    ------
    OutOfRange : no such code, or full scale or bits are not positive.

    >>> f"{volts_of_code(2048, 3.3, 12):.4f} V"
    '1.6504 V'
    """
    one = step(v_full_v, bits)
    if not 0 <= code < 2**bits:
        raise OutOfRange(f"A converter of {bits} bits has the codes 0 to {2**bits - 1}, not {code}.")
    return (code + 0.5) * one


def differential_code(v_pos_v: float, v_neg_v: float, v_ref_v: float, gain: float = 1.0, bits: int = 10) -> int:
    """Signed code of a differential input, cut towards zero.   [ATmega32A]

    code = (V+ - V-) gain 2^(bits-1) / Vref, from -2^(bits-1) to 2^(bits-1) - 1

    Parameters
    ----------
    v_pos_v : positive input [V]
    v_neg_v : negative input [V]
    v_ref_v : reference [V]
    gain : gain of the input stage [-]
    bits : bits of the result, its sign included [-]

    Returns
    -------
    code : signed code [-]

    Raises
    ------
    OutOfRange : a voltage is not finite, or reference, gain or bits are not positive.

    >>> differential_code(0.3, 0.5, 2.56, gain=10)
    -400
    """
    finite(v_pos_v=v_pos_v, v_neg_v=v_neg_v)
    positive(v_ref_v=v_ref_v, gain=gain, bits=bits)
    half = 1 << (bits - 1)
    exact = (v_pos_v - v_neg_v) * gain * half / v_ref_v
    cut = int(exact + (1e-9 if exact > 0 else -1e-9))  # 399.9999999 is 400: binary fractions only
    return min(max(cut, -half), half - 1)


def two_complement(value: int, bits: int) -> int:
    """Bit pattern of a signed number, as an unsigned one.   [definition]

    Parameters
    ----------
    value : signed number [-]
    bits : width of the pattern [-]

    Returns
    -------
    word : 0 to 2^bits - 1 [-]

    Raises
    ------
    OutOfRange : the number does not fit.

    >>> hex(two_complement(-400, 10))
    '0x270'
    """
    if bits < 1 or not -(2 ** (bits - 1)) <= value < 2 ** (bits - 1):
        raise OutOfRange(f"{value} does not fit into {bits} bits with a sign.")
    return value % (1 << bits)


def left_adjusted(word: int, bits: int, register_bits: int = 16) -> tuple[int, int]:
    """Upper and lower byte of a result that stands at the left of a register of two bytes.   [ATmega32A]

    Parameters
    ----------
    word : bit pattern of the result [-]
    bits : bits of the result [-]
    register_bits : bits of both bytes together [-]

    Returns
    -------
    bytes : upper and lower byte [-]

    Raises
    ------
    OutOfRange : the word does not fit.

    >>> left_adjusted(0x270, 10)
    (156, 0)
    """
    if not 0 < bits <= register_bits or not 0 <= word < 2**bits:
        raise OutOfRange(f"{word} is no result of {bits} bits in a register of {register_bits}.")
    shifted = word << (register_bits - bits)
    return shifted >> 8, shifted & 0xFF


def quantisation_noise(v_full_v: float, bits: float) -> float:
    """Noise an ideal converter adds by its steps: step / sqrt(12), as an RMS value.   [MT-001]

    Parameters
    ----------
    v_full_v : full-scale voltage [V]
    bits : resolution [-]

    Returns
    -------
    v_rms_v : RMS noise [V]

    Raises
    ------
    OutOfRange : a value is not finite and positive.

    >>> f"{quantisation_noise(3.3, 12) * 1e3:.3f} mV"
    '0.233 mV'
    """
    return step(v_full_v, bits) / 12**0.5


def snr_ideal(bits: float) -> float:
    """Signal to quantisation noise of a full-scale sine: 6.02 bits + 1.76 dB.   [MT-001]

    Parameters
    ----------
    bits : resolution [-]

    Returns
    -------
    snr_db : ratio of the two [-]

    Raises
    ------
    OutOfRange : the resolution is not finite and positive.

    >>> f"{snr_ideal(12):.2f} dB"
    '74.00 dB'
    """
    positive(bits=bits)
    return 6.02 * bits + 1.76


def enob(sinad_db: float) -> float:
    """Bits an ideal converter would need for the same noise: (SINAD - 1.76) / 6.02.   [MT-001]

    Parameters
    ----------
    sinad_db : signal to noise and distortion, measured with a full-scale sine [-]

    Returns
    -------
    bits : effective number of bits [-]

    Raises
    ------
    OutOfRange : the ratio is not finite.

    >>> f"{enob(60):.2f}"
    '9.67'
    """
    finite(sinad_db=sinad_db)
    return (sinad_db - 1.76) / 6.02


@dataclass(frozen=True, slots=True)
class AdcErrors:
    """A converter with its errors, each as the largest the data sheet allows.   [STM32F103x4/x6, ATmega32A]

    ``offset_lsb``, ``gain_lsb`` (at full scale) and ``inl_lsb`` count steps; ``reference_share`` is the tolerance of the
    reference as a share of it.

    >>> parts = AdcErrors(12, 3.3, reference_share=0.01, offset_lsb=2).at(1.65)
    >>> {name: f"{v * 1e3:.1f} mV" for name, v in parts.items()}
    {'steps': '0.4 mV', 'reference': '16.5 mV', 'offset': '1.6 mV', 'gain': '0.0 mV', 'linearity': '0.0 mV'}
    """

    bits: int
    v_ref_v: float
    reference_share: float = 0.0
    offset_lsb: float = 0.0
    gain_lsb: float = 0.0
    inl_lsb: float = 0.0

    def __post_init__(self) -> None:
        positive(bits=self.bits, v_ref_v=self.v_ref_v)
        share(reference_share=self.reference_share)
        not_negative(offset_lsb=self.offset_lsb, gain_lsb=self.gain_lsb, inl_lsb=self.inl_lsb)

    @property
    def step_v(self) -> float:
        """One step [V]."""
        return step(self.v_ref_v, self.bits)

    def at(self, v_in_v: float) -> dict[str, float]:
        """Largest error of each kind at an input voltage, as volts at the input, either sign."""
        not_negative(v_in_v=v_in_v)
        return {
            "steps": self.step_v / 2,
            "reference": v_in_v * self.reference_share,
            "offset": self.offset_lsb * self.step_v,
            "gain": self.gain_lsb * self.step_v * v_in_v / self.v_ref_v,
            "linearity": self.inl_lsb * self.step_v,
        }

    def worst(self, v_in_v: float) -> float:
        """All errors at their largest and of one sign [V]."""
        return sum(self.at(v_in_v).values())

    def rss(self, v_in_v: float) -> float:
        """Root of the sum of squares: what to expect when the errors have nothing to do with each other [V]."""
        return float(sum(v**2 for v in self.at(v_in_v).values()) ** 0.5)


@dataclass(frozen=True, slots=True)
class InputRange:
    """One setting of attenuator or reference: full scale, and the band within it that the maker calls usable."""

    name: str
    v_full_v: float
    v_low_v: float = 0.0
    v_high_v: float | None = None

    @property
    def top_v(self) -> float:
        """Highest voltage that reads right [V]."""
        return self.v_full_v if self.v_high_v is None else self.v_high_v


def narrowest_range(ranges: Iterable[InputRange], v_high_v: float, v_low_v: float = 0.0) -> InputRange:
    """Setting whose usable band just covers a signal; the smaller full scale, the smaller its step.   [definition]

    Parameters
    ----------
    ranges : settings the converter has [-]
    v_high_v : highest voltage of the signal, tolerances included [V]
    v_low_v : lowest voltage of the signal [V]

    Returns
    -------
    range : the setting with the smallest full scale that covers it [-]

    Raises
    ------
    OutOfRange : none covers it, or the signal is no band.

    >>> narrowest_range([InputRange("1.1 V", 1.1), InputRange("2.56 V", 2.56), InputRange("supply", 5.0)], 1.8).name
    '2.56 V'
    """
    finite(v_high_v=v_high_v, v_low_v=v_low_v)
    if v_low_v > v_high_v:
        raise OutOfRange(f"A signal runs from low to high, not from {v_low_v:g} V to {v_high_v:g} V.")
    known = sorted(ranges, key=lambda each: each.v_full_v)
    if not known:
        raise OutOfRange("A converter has at least one input range.")
    for each in known:
        if each.v_low_v <= v_low_v and v_high_v <= each.top_v:
            return each
    top = max(each.top_v for each in known)
    if v_high_v > top:
        raise OutOfRange(f"No input range reaches {v_high_v:g} V: the widest ends at {top:g} V. Divide by {v_high_v / top:.2f} or more.")
    raise OutOfRange(f"No input range covers {v_low_v:g} V to {v_high_v:g} V: none that reaches the top begins low enough.")
