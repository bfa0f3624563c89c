"""Random briefs from the catalogue: invented, for tests only."""

from __future__ import annotations

import random

from pinwright.brief.reader import BriefFile, parse_brief
from pinwright.facts.loader import Catalogue

PLAIN = (
    "push-button-momentary", "reed-contact-door", "limit-switch-micro", "pir-motion-am312", "potentiometer-10k", "ntc-10k-b3950",
    "ldr-gl5528", "bme280", "sht31", "bh1750", "ssd1306-oled-i2c", "ds3231", "temp-ds18b20", "climate-dht22", "led-ws2812b",
    "ultrasonic-hc-sr04", "relay-module-active-high", "relay-module-opto-active-low", "led-red", "buzzer-active", "servo-hobby",
    "led-strip-12v-dimming", "mosfet-module-lowside", "thermocouple-max31855", "load-cell-hx711", "rotary-encoder-incremental",
    "stepper-28byj-uln2003", "rs485-max3485", "gnss-uart-neo6m", "fan-4wire-pwm",
)  # fmt: skip


def random_brief(seed: int, most_lines: int, catalogue: Catalogue, board: str = "") -> BriefFile:
    """A brief of at most ``most_lines`` lines; the same seed gives the same brief."""
    return parse_brief(random_brief_text(seed, most_lines, catalogue, board), f"brief-{seed}.toml", catalogue)


def random_brief_text(seed: int, most_lines: int, catalogue: Catalogue, board: str = "") -> str:
    """Text of a random brief."""
    rng = random.Random(seed)
    radio = rng.choice(("[]", "[]", '["wifi"]', '["ble"]'))
    console = rng.choice(("keep", "keep", "free"))
    text = [f'title = "Invented brief {seed}"', "[use]", f"radio = {radio}", f'console = "{console}"']
    if board:
        text.append(f'[board]\nonly = ["{board}"]')
    lines = 0
    number = 0
    target = rng.randint(1, most_lines)
    while lines < target:
        kind = rng.choice(PLAIN)
        size = sum(line.count for line in catalogue.parts[kind].line if not line.optional)
        if lines + size > most_lines:
            if lines:
                break
            continue
        number += 1
        lines += size
        text += ["[[part]]", f'name = "thing {number}"', f'kind = "{kind}"']
        if rng.random() < 0.3:
            text.append(rng.choice(('wire = "20 cm"', 'wire = "2 m"')))
        if rng.random() < 0.2:
            text.append('power_up = "may twitch"')
    return "\n".join(text) + "\n"
