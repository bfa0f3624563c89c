"""What the catalogue can say: chips with their pads, boards with their pins, parts with their lines.

Every number carries where it comes from.  Floats are in SI units and the key ends in the unit
(``pull_up_ohm``, ``i_pin_source_max_a``); prefixes such as kΩ or mA exist only where people read.

The classes are plain frozen dataclasses.  ``facts.loader`` fills them from TOML, ``facts.validate``
checks what a type cannot say (that a source exists, that a header pin names a real pad, …).
The file format is exactly these classes: a key in a file is a field here.
"""

from pinwright.facts.board import Board, BoardPin, BoardSupply, HeaderStrip, Onboard, Regulator, Reserve
from pinwright.facts.chip import (
    AdcChannel,
    AdcRange,
    AdcUnit,
    BootMode,
    BootState,
    BusInstance,
    Chip,
    CurrentGroup,
    Electrical,
    Erratum,
    Firmware,
    Pad,
    PulseEngine,
    PwmPool,
    PwmUse,
    SleepState,
    StateCurrent,
    Strap,
)
from pinwright.facts.cited import Cite, Fact, Language, Level, OtherValue, Seen, Source
from pinwright.facts.part import (
    Caution,
    Curve,
    Divided,
    Driver,
    I2cFacts,
    Load,
    Needs,
    Part,
    PartCurrent,
    PartLine,
    PartSupply,
    PullFitted,
    SpiFacts,
    UartFacts,
)

__all__ = [
    "AdcChannel",
    "AdcRange",
    "AdcUnit",
    "Board",
    "BoardPin",
    "BoardSupply",
    "BootMode",
    "BootState",
    "BusInstance",
    "Caution",
    "Chip",
    "Cite",
    "CurrentGroup",
    "Curve",
    "Divided",
    "Driver",
    "Electrical",
    "Erratum",
    "Fact",
    "Firmware",
    "HeaderStrip",
    "I2cFacts",
    "Language",
    "Level",
    "Load",
    "Needs",
    "Onboard",
    "OtherValue",
    "Pad",
    "Part",
    "PartCurrent",
    "PartLine",
    "PartSupply",
    "PullFitted",
    "PulseEngine",
    "PwmPool",
    "PwmUse",
    "Regulator",
    "Reserve",
    "Seen",
    "SleepState",
    "Source",
    "SpiFacts",
    "StateCurrent",
    "Strap",
    "UartFacts",
]
