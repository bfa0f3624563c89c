// PWM slices in the maker's SDK, in our own words.
#pragma once

#include "gpio.h"

struct pwm_config {
    float divider;
    uint16_t wrap;
};
extern "C" {
uint pwm_gpio_to_slice_num(uint pin);
pwm_config pwm_get_default_config(void);
void pwm_config_set_clkdiv(pwm_config *config, float divider);
void pwm_config_set_wrap(pwm_config *config, uint16_t wrap);
void pwm_init(uint slice, pwm_config *config, bool start);
void pwm_set_gpio_level(uint pin, uint16_t level);
}
