"""Fixed pieces of a C++ programme: small types and functions, each written only where it is used."""

from __future__ import annotations

from collections.abc import Iterable

__all__ = ["PIECES", "kit"]

PIECES: dict[str, str] = {
    "silence": """
// Nothing to talk over: every word falls flat, and nobody answers.
struct Silence {
  void begin(unsigned long) {}
  template <typename T> void print(T) {}
  template <typename T> void print(T, int) {}
  template <typename T> void println(T) {}
  void println() {}
  int available() { return 0; }
  int read() { return -1; }
  void flush() {}
};
Silence console;
""",
    "tell": """
// Says one reading.
template <typename T> void tell(const __FlashStringHelper *name, T value) {
  console.print(name);
  console.print(F(": "));
  console.println(value);
}

template <typename T> void tell(const __FlashStringHelper *name, T value, const __FlashStringHelper *unit) {
  console.print(name);
  console.print(F(": "));
  console.print(value);
  console.print(F(" "));
  console.println(unit);
}
""",
    "tell_sensor": """
// Says the reading of a sensor that is a resistor, or that it has none.
void tell_sensor(const __FlashStringHelper *name, float value, const __FlashStringHelper *unit) {
  if (isnan(value)) {
    tell(name, F("no value: open, shorted, or beyond what can be read"));
  } else {
    tell(name, value, unit);
  }
}
""",
    "scan": """
// Asks every 7-bit address that is free for parts; says who answers, and whether the plan has it.
template <typename Bus> void scan(Bus &bus, const uint8_t *planned, uint8_t count) {
  for (uint8_t address = 0x08; address <= 0x77; address++) {
    bus.beginTransmission(address);
    if (bus.endTransmission() != 0) {
      continue;
    }
    bool is_planned = false;
    for (uint8_t i = 0; i < count; i++) {
      is_planned = is_planned || planned[i] == address;
    }
    console.print(F("0x"));
    console.print(address, HEX);
    console.println(is_planned ? F(" answers, as planned") : F(" answers, not in the plan"));
  }
}
""",
    "contact": """
// An input whose level counts once it has stood still for settle_ms.
struct Contact {
  pin_number pin;
  uint16_t settle_ms;
  bool level;
  bool seen;
  uint32_t since_ms;
};

// Looks at the pin; tells whether the settled level has just changed.
bool has_changed(Contact &contact) {
  const bool now = digitalRead(contact.pin) == HIGH;
  if (now != contact.seen) {
    contact.seen = now;
    contact.since_ms = millis();
  }
  if (now == contact.level || millis() - contact.since_ms < contact.settle_ms) {
    return false;
  }
  contact.level = now;
  return true;
}

// Takes the level there is as the settled one.
void settle(Contact &contact) {
  contact.level = contact.seen = digitalRead(contact.pin) == HIGH;
  contact.since_ms = millis();
}
""",
    "counts": """
// Reads what an interrupt counts, without it counting in between.
template <typename T> T steady(const volatile T &count) {
  noInterrupts();
  const T now = count;
  interrupts();
  return now;
}
""",
    "quadrature": """
// Change of a count for each pair of old and new levels of two quadrature lines; 0 where both changed at once.
int8_t quarter_turn(uint8_t before, uint8_t after) {
  static const int8_t turns[16] = {0, -1, 1, 0, 1, 0, 0, -1, -1, 0, 0, 1, 0, 1, -1, 0};
  return turns[(before << 2) | after];
}
""",
    "distance": """
// Distance in millimetres by the time sound takes there and back; negative without an echo.
long echo_mm(pin_number trigger, pin_number echo) {
  digitalWrite(trigger, HIGH);
  delayMicroseconds(10);
  digitalWrite(trigger, LOW);
  const unsigned long us = pulseIn(echo, HIGH, 30000UL);
  return us == 0 ? -1 : long(us * 10 / 58);  // 343 m/s, halved
}
""",
    "presence": """
// Whether any part on a one-wire line answers a reset; only ever pulls the line low or lets go.
bool answers_reset(pin_number pin) {
  digitalWrite(pin, LOW);
  pinMode(pin, OUTPUT);
  delayMicroseconds(480);
  noInterrupts();
  pinMode(pin, INPUT);
  delayMicroseconds(70);
  const bool present = digitalRead(pin) == LOW;
  interrupts();
  delayMicroseconds(410);
  return present;
}
""",
    "calibrated": """
// Straight line through two measured points.
float calibrated(float shown, float low_shown, float low_true, float high_shown, float high_true) {
  return low_true + (shown - low_shown) * (high_true - low_true) / (high_shown - low_shown);
}
""",
    "ntc": """
// Temperature of an NTC thermistor in degrees Celsius by its beta formula.
float ntc_celsius(float ohm, float ref_ohm, float ref_celsius, float beta_kelvin) {
  return 1.0f / (1.0f / (ref_celsius + 273.15f) + log(ohm / ref_ohm) / beta_kelvin) - 273.15f;
}
""",
    "pt": """
// Temperature of a platinum sensor in degrees Celsius (IEC 60751): solved for the warm branch, then bent for the cold one.
float pt_celsius(float ohm, float ref_ohm) {
  const float a = 3.9083e-3f, b = -5.775e-7f, c = -4.183e-12f;
  const float ratio = ohm / ref_ohm;
  float t = (-a + sqrt(a * a - 4.0f * b * (1.0f - ratio))) / (2.0f * b);
  for (uint8_t i = 0; i < 4 && t < 0.0f; i++) {
    const float miss = 1.0f + a * t + b * t * t + c * (t - 100.0f) * t * t * t - ratio;
    t -= miss / (a + 2.0f * b * t + c * (4.0f * t - 300.0f) * t * t);
  }
  return t;
}
""",
    "ldr": """
// Light on a photoresistor in lux by its slope.
float ldr_lux(float ohm, float ref_ohm, float ref_lux, float gamma) {
  return ref_lux * pow(ref_ohm / ohm, 1.0f / gamma);
}
""",
    "two": """
// Selects a part, reads two bytes and says them.
template <typename Bus, typename Level>
void read_two(Bus &bus, pin_number select, Level on, Level off, SPISettings settings, const __FlashStringHelper *name) {
  bus.beginTransaction(settings);
  digitalWrite(select, on);
  const uint8_t first = bus.transfer(0);
  const uint8_t second = bus.transfer(0);
  digitalWrite(select, off);
  bus.endTransaction();
  console.print(name);
  console.print(F(": "));
  console.print(first, HEX);
  console.print(F(" "));
  console.println(second, HEX);
}
""",
    "servo": """
// A servo whose pulses the main loop makes, one every 20 ms; 0: no pulses, it goes limp.
struct SoftServo {
  pin_number pin;
  uint16_t pulse_us;
  uint32_t last_ms;
};

void pulse(SoftServo &servo) {
  if (servo.pulse_us == 0 || millis() - servo.last_ms < 20) {
    return;
  }
  servo.last_ms = millis();
  digitalWrite(servo.pin, HIGH);
  delayMicroseconds(servo.pulse_us);
  digitalWrite(servo.pin, LOW);
}
""",
    "line": """
// Collects typed characters; true when a line is complete.
bool has_line(char *text, uint8_t size) {
  static uint8_t used = 0;
  while (console.available() > 0) {
    const int typed = console.read();
    if (typed == '\\n' || typed == '\\r') {
      text[used] = 0;
      const bool complete = used > 0;
      used = 0;
      if (complete) {
        return true;
      }
    } else if (used + 1 < size) {
      text[used++] = char(typed);
    }
  }
  return false;
}
""",
}
"""C++ by name.  ``pin_number`` is the type of a pin in the core, ``console`` what the programme talks over."""

_ORDER = tuple(PIECES)


def kit(wanted: Iterable[str]) -> list[str]:
    """Lines of the wanted pieces, always in the same order."""
    names = set(wanted)
    lines: list[str] = []
    for name in _ORDER:
        if name in names:
            lines += [*PIECES[name].strip("\n").split("\n"), ""]
    return lines
