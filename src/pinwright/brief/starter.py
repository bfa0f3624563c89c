"""The starter brief ``pinwright new`` writes: complete, commented, and it plans as it is."""

from __future__ import annotations

from pathlib import Path

from pinwright.files import write_new

__all__ = ["STARTER", "write_starter"]

STARTER = """\
# A Pinwright brief: what your device is made of and what it must do.
# Quantities are texts with a unit: "400 mA", "2 m", "4k7", "1 kHz".
# Then run:  pinwright plan THIS-FILE

title = "Window box"

[supply]
source = "usb"              # usb, adapter, battery, lithium cell, other
voltage = "5 V"
# current = "1 A"           # what it can give
# kind = "cell-18650"       # a supply of the catalogue: pinwright facts search battery
# cells = 3                 # in series
# capacity = "2000 mAh"

[use]
radio = "none"              # or "wifi", "ble", or a list: ["wifi", "ble"]
sleeping = false            # true if it lives on a battery and sleeps
# wake_every = "10 min"     # with sleeping: how often, and for how long
# awake_for = "5 s"
# ambient = ["-5 degC", "40 degC"]
# console = "keep"          # free: the pins of the boot log may be used
# usb = "keep"              # free: the USB data pins may be used

[board]                     # which boards come into question; all may stay out
# only = ["raspberry-pi-pico"]        (names: pinwright facts list boards)
# prefer = []
# avoid = []
# own = []                  # already in your drawer: they cost nothing
# max_length = "60 mm"

[firmware]
# language = "micropython"    # micropython, circuitpython, cpp: only boards that run it

[stock]                     # components in your drawer: they are chosen first
# resistors = ["330", "1k", "4k7", "10k"]
# parts = ["mosfet-ao3400a"]

# One [[part]] for each thing you wire to the board.
# Kinds: pinwright facts search WORD   (button, relay, soil, display, ...)

[[part]]
name = "pump"
kind = "relay-module-active-high"
wire = "40 cm"
power_up = "must stay off"  # or "may twitch", "any"

[[part]]
name = "soil"
kind = "soil-moisture-capacitive"
wire = "1 m"

[[part]]
name = "key"
kind = "push-button-momentary"
count = 2                   # key 1 and key 2

[[part]]
name = "air"
kind = "bme280"
# pins = { SDA = "GP4", SCL = "GP5" }   # pins you have already fixed
# connect = ["INT"]         # optional lines you want as well

# A part the catalogue does not know, from its data sheet:
[[part]]
name = "flow meter"
supply = "5 V"
current = "15 mA"

  [[part.line]]
  name = "PULSE"
  direction = "in"          # as the board sees it
  signal = "digital"
  gives_high_of = "4.7 V"
  gives_low_of = "0.4 V"
  count_pulses = true
  rest = "pulses"
"""


def write_starter(path: Path, force: bool = False) -> None:
    """Write the starter brief; never over a file that is there unless forced, never half a file.

    Raises
    ------
    InputError : the file exists, or its folder cannot be written.
    """
    write_new(path, STARTER, force)
