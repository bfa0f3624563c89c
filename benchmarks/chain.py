"""A Monte Carlo of an analog chain, all samples in one array, against a plain Python loop over the samples."""

from __future__ import annotations

import math
import random
import statistics

from common import Result, Row, in_turns_s, median_s, say

from pinwright.circuits.adc import AdcErrors
from pinwright.circuits.chain import Chain, monte_carlo, sample_errors
from pinwright.circuits.curves import ntc_divider
from pinwright.circuits.ranges import Range

__all__ = ["measure"]

BAR_S = 1.0
MILLION = 1_000_000
_T_C = 60.0
_R25_OHM, _BETA_K, _R_FIXED_OHM, _V_REF_V, _BITS = 10e3, 3950.0, 10e3, 3.3, 12
_TOLERANCE, _LSB = 0.01, 2.0
_AGREE = 0.02  # of the deviation: what 100,000 samples leave to chance, with room


def measure(quick: bool) -> Result:
    """Both ways on the same thermistor chain with eight values that are not known exactly."""
    chain = Chain(
        ntc_divider(*(Range.around(value, _TOLERANCE) for value in (_R25_OHM, _BETA_K, _R_FIXED_OHM))),
        AdcErrors(_BITS, _V_REF_V, reference_share=_TOLERANCE, offset_lsb=_LSB, gain_lsb=_LSB, inl_lsb=_LSB),
    )
    samples = 100_000 if quick else 300_000
    say(f"chain: {samples} samples in an array and in a loop")
    # Keys are the two ways: 0 in an array, 1 in a loop.
    taken = in_turns_s(3 if quick else 5, {0: lambda: sample_errors(chain, _T_C, samples), 1: lambda: _loop(samples, 1)})
    million_s = median_s(3 if quick else 7, lambda: monte_carlo(chain, _T_C, MILLION))
    here, there = float(sample_errors(chain, _T_C, samples).std()), statistics.pstdev(_loop(samples, 2))
    differ = abs(here / there - 1) > _AGREE
    rows = (
        Row("chain", f"plain loop, {samples:,} samples", taken[1] / taken[0], "x one array", is_wrong=differ, note="same deviation"),
        Row("chain", "Monte Carlo of 1,000,000 samples", million_s / BAR_S, "x 1 s", "1"),
    )
    detail = {"array_s": taken[0], "loop_s": taken[1], "million_s": million_s, "deviation_k": {"array": here, "loop": there}}
    return Result(rows, detail)


def _loop(samples: int, seed: int) -> list[float]:
    """The same chain written plainly, one specimen after the other."""
    draw = random.Random(seed).uniform
    errors = []
    levels = 1 << _BITS
    for _ in range(samples):
        r25 = _R25_OHM * draw(1 - _TOLERANCE, 1 + _TOLERANCE)
        beta = _BETA_K * draw(1 - _TOLERANCE, 1 + _TOLERANCE)
        fixed = _R_FIXED_OHM * draw(1 - _TOLERANCE, 1 + _TOLERANCE)
        v_ref = _V_REF_V * draw(1 - _TOLERANCE, 1 + _TOLERANCE)
        r_ntc = r25 * math.exp(beta * (1 / (_T_C + 273.15) - 1 / 298.15))
        share = v_ref * r_ntc / (r_ntc + fixed) / v_ref
        share = share * (1 + draw(-_LSB, _LSB) / levels) + (draw(-_LSB, _LSB) + draw(-_LSB, _LSB) + draw(-0.5, 0.5)) / levels
        share = min(max(share, 0.5 / levels), 1 - 0.5 / levels)
        read = _R_FIXED_OHM * share / (1 - share)
        errors.append(1 / (1 / 298.15 + math.log(read / _R25_OHM) / _BETA_K) - 273.15 - _T_C)
    return errors
