// Pulls that stay in sleep, in our own words.
#pragma once

#include "gpio.h"

extern "C" {
int rtc_gpio_pullup_en(gpio_num_t pin);
int rtc_gpio_pulldown_en(gpio_num_t pin);
}
