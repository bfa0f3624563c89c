// Holding pins through sleep in the maker's framework, in our own words.
#pragma once

enum gpio_num_t : int { GPIO_NUM_0 = 0 };
extern "C" {
int gpio_hold_en(gpio_num_t pin);
int gpio_hold_dis(gpio_num_t pin);
void gpio_deep_sleep_hold_en(void);
}
