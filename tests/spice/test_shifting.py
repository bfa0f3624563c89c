"""The MOSFET level shifter against ngspice: lows both ways, and the rise of both sides (kind: oracle)."""

from __future__ import annotations

import pytest
from fitted import TIMES, close
from ngspice import Sheet

from pinwright.circuits.shifting import Fet, Fet as _Fet, fet_shifter

FET = Fet(vgs_th_max_v=1.5, i_th_a=1e-3, vf_body_max_v=1.2, vds_max_v=50.0, r_on_ohm=3.5, r_on_at_v=2.75)
