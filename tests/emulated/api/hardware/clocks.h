// Clocks in the maker's SDK, in our own words.
#pragma once

#include <stdint.h>

enum clock_index { clk_sys = 5 };
extern "C" uint32_t clock_get_hz(enum clock_index clock);
