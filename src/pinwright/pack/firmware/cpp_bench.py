"""What a C++ programme does with its lines: the report of every round, commands typed by the maker, and the self-test."""

from __future__ import annotations

from pinwright.pack.firmware.cpp_sketch import Sketch, block, comment, either, said
from pinwright.pack.firmware.model import Step

__all__ = ["write_commands", "write_report", "write_self_test", "write_waiting"]

LOAD_MS = 10_000
"""A load that must stay off goes off again by itself after this long on command [ms] (our choice)."""
SHOW_MS = 5000
"""How long the self-test leaves a load that must stay off on at most: a meter settles in it [ms] (our choice)."""
WATCH_MS = 5000
"""How long the self-test watches an input [ms] (our choice)."""
ASK_MS = 60_000
"""No answer for this long counts as no [ms] (our choice)."""


def write_waiting(sketch: Sketch) -> None:
    """``rest_ms(ms)``: waits, while what must go on goes on; and ``all_off()``."""
    sketch.add(
        *(["// Waits, while what must go on goes on."] if sketch.waits else ["// Waits."]),
        *block(
            "void rest_ms(uint32_t ms)",
            ["const uint32_t from_ms = millis();", *block("while (millis() - from_ms < ms)", [*sketch.waits, "yield();"])],
        ),
    )
    sketch.add(
        "// Everything that can be commanded goes to where it is off.", *block("void all_off()", [out.off for out in sketch.outputs])
    )


def write_report(sketch: Sketch) -> None:
    """``report()``: one reading of everything."""
    if sketch.has_console:
        sketch.add("// Says what every input reads.", *block("void report()", sketch.reports))
        return
    reads = [f"read_{analog.pin.snake}();" for analog in sketch.program.analogs]
    sketch.add("// Reads every input once; there is nobody to tell.", *block("void report()", reads))


def write_commands(sketch: Sketch) -> None:
    """``obey(line)``: ``3 on``, ``3 off``, ``3 40`` (percent); loads that must stay off go off again by themselves."""
    if not sketch.outputs or not sketch.has_console:
        return
    sketch.pieces.add("line")
    menu = ['console.println(F("Type a number and on, off or a percentage:"));']
    for index, out in enumerate(sketch.outputs, 1):
        stays = " (a load: goes off again by itself)" if out.is_load else ""
        menu.append(f"console.println({said(f'{index} {out.pin.words}' + stays, 100)});")
    sketch.add("// Says what can be commanded.", *block("void show_menu()", menu))
    clocks = {out.pin.name: number for number, out in enumerate(out for out in sketch.outputs if out.is_load)}
    if clocks:
        sketch.add("#ifndef LOAD_MS", f"#define LOAD_MS {LOAD_MS}  // how long a load stays on by a typed command", "#endif")
        sketch.add(
            "// A clock for each load: one that is commanded does not keep another on.",
            *("struct LoadClock {", "  bool runs;", "  uint32_t since_ms;", "};"),
            f"LoadClock load_clocks[{len(clocks)}] = {{}};",
            "",
            "// Whether a load's time is over; the clock stops then.",
            *block(
                "bool is_over(LoadClock &clock)",
                [
                    *block("if (!clock.runs || millis() - clock.since_ms <= LOAD_MS)", ["return false;"]),
                    "clock.runs = false;",
                    "return true;",
                ],
            ),
        )
    body = [
        "char *rest = nullptr;",
        "const long wanted = strtol(line, &rest, 10);",
        *block("while (*rest == ' ')", ["rest++;"]),
        "float share = float(atof(rest)) / 100.0f;",
        *either('strncmp(rest, "on", 2) == 0', ["share = 1.0f;"], ["share = share < 0.0f ? 0.0f : share > 1.0f ? 1.0f : share;"]),
        "switch (wanted) {",
    ]
    for index, out in enumerate(sketch.outputs, 1):
        body += [f"  case {index}:", f"    {out.set}"]
        body += [f"    load_clocks[{clocks[out.pin.name]}] = {{true, uint32_t(millis())}};"] if out.is_load else []
        body.append("    break;")
    body += ["  default:", "    show_menu();", "}"]
    sketch.add(*comment("Obeys a typed line. Loads that must stay off are switched here and in the self-test only."),
               *block("void obey(const char *line)", body))  # fmt: skip
    sketch.polls += ["static char typed[16];", *block("if (has_line(typed, sizeof typed))", ["obey(typed);"])]
    for out in sketch.outputs:
        if out.is_load:
            sketch.polls += block(f"if (is_over(load_clocks[{clocks[out.pin.name]}]))", [out.off])


def write_self_test(sketch: Sketch) -> None:
    """Walks every line in the order of the bench sheet; a load is only switched on a yes."""
    program = sketch.program
    if not sketch.has_console:
        sketch.notes.append("No console is free on this board, so the self-test cannot ask anything and is left out.")
        return
    steps = [step for step in program.steps if sketch.shows.get(step.name)]
    sketch.add("#if SELF_TEST")
    sketch.add("#ifndef SHOW_MS", f"#define SHOW_MS {SHOW_MS}  // how long a load that must stay off is shown at most", "#endif",
               "#ifndef WATCH_MS", f"#define WATCH_MS {WATCH_MS}  // how long an input is watched", "#endif")  # fmt: skip
    sketch.add(*_ASK.strip("\n").split("\n"))
    used = "\n".join(line for step in steps for line in sketch.shows[step.name])
    if "hold(" in used:
        sketch.add(*_HOLD.strip("\n").split("\n"))
    if "watch(" in used:
        sketch.add(*_WATCH.strip("\n").split("\n"))
    if "show_count(" in used:
        sketch.add(*_SHOW_COUNT.strip("\n").split("\n"))
    body = ["uint16_t doubts = 0;"]
    for index, step in enumerate(steps, 1):
        body += _step(sketch, step, f"{index}/{len(steps)}")
    body += ["all_off();", 'console.print(F("done; in doubt: "));', "console.println(doubts);"]
    sketch.add("// Every line once, in the order of the bench sheet.", *block("void self_test()", body))
    sketch.add("#endif")


def _step(sketch: Sketch, step: Step, place: str) -> list[str]:
    shows = sketch.shows[step.name]
    told = [
        f"console.println({said(f'{place} {step.words}: {step.do}', 160)});",
        f"console.println({said(f'expected: {step.expect}', 160)});",
    ]
    asked = 'doubts += ask(F("As expected?")) ? 0 : 1;'
    if not step.is_load:
        return [*told, *shows, asked]
    return [
        *told,
        *either('ask(F("This switches a load. Is everything clear?"))', [*shows, asked], ['console.println(F("left off"));', "doubts++;"]),
    ]


_ASK = f"""
// Asks, and waits for a yes; no answer counts as no.
bool ask(const __FlashStringHelper *question) {{
  console.print(question);
  console.print(F(" [y/n]"));
  console.flush();
  while (console.available() > 0) {{
    console.read();  // typed before the question could be read: no answer to it
  }}
  const uint32_t from_ms = millis();
  int answer = 0;
  while (answer != 'y' && answer != 'n' && millis() - from_ms < {ASK_MS}UL) {{
    rest_ms(1);
    answer = console.available() > 0 ? console.read() : 0;
  }}
  console.println(answer == 'y' ? F(" yes") : F(" no"));
  return answer == 'y';
}}
"""
_HOLD = """
// Holds a state until a key is typed, but not longer than most_ms (0: as long as it takes).
void hold(uint32_t most_ms) {
  console.print(most_ms == 0 ? F("look and measure, then press Enter") : F("look and measure now; it ends by itself, or press Enter"));
  console.flush();
  rest_ms(20);
  while (console.available() > 0) {
    console.read();  // the rest of the line before
  }
  const uint32_t from_ms = millis();
  while (console.available() == 0 && (most_ms == 0 || millis() - from_ms < most_ms)) {
    rest_ms(1);
  }
  console.println();
}
"""
_WATCH = """
// Watches an input for a while and says how often it changed.
void watch(pin_number pin) {
  uint16_t changes = 0;
  bool before = digitalRead(pin) == HIGH;
  console.print(before ? F("high now") : F("low now"));
  const uint32_t from_ms = millis();
  while (millis() - from_ms < WATCH_MS && changes < 2) {
    rest_ms(5);
    const bool now = digitalRead(pin) == HIGH;
    changes += now != before ? 1 : 0;
    before = now;
  }
  console.print(F(", changes: "));
  console.println(changes);
}
"""
_SHOW_COUNT = """
// Says how far a count moves in a while.
template <typename T> void show_count(const volatile T &count) {
  const T from = steady(count);
  rest_ms(WATCH_MS);
  console.print(F("counted "));
  console.println(long(steady(count)) - long(from));
}
"""
