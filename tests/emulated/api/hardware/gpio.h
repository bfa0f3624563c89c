// Pins in the maker's SDK, in our own words.
#pragma once

#include <stdint.h>

typedef unsigned int uint;
enum gpio_function { GPIO_FUNC_SPI = 1, GPIO_FUNC_PWM = 4, GPIO_FUNC_SIO = 5 };
#define GPIO_OUT 1
#define GPIO_IN 0
extern "C" {
void gpio_init(uint pin);
void gpio_put(uint pin, bool level);
void gpio_set_dir(uint pin, bool out);
void gpio_set_function(uint pin, enum gpio_function function);
}
