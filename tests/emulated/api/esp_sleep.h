// Deep sleep calls of the maker's framework, in our own words; the names of 4.4 (core 2.x) and of 5.x (core 3.x).
#pragma once

#include <stdint.h>

#include "driver/gpio.h"

#if !defined(ESP_ARDUINO_VERSION_MAJOR) || ESP_ARDUINO_VERSION_MAJOR >= 3
typedef enum { ESP_EXT1_WAKEUP_ANY_LOW = 0, ESP_EXT1_WAKEUP_ANY_HIGH = 1, ESP_EXT1_WAKEUP_ALL_LOW = 0 } esp_sleep_ext1_wakeup_mode_t;
#else
typedef enum { ESP_EXT1_WAKEUP_ALL_LOW = 0, ESP_EXT1_WAKEUP_ANY_HIGH = 1 } esp_sleep_ext1_wakeup_mode_t;
#endif
typedef enum { ESP_GPIO_WAKEUP_GPIO_LOW = 0, ESP_GPIO_WAKEUP_GPIO_HIGH = 1 } esp_deepsleep_gpio_wake_up_mode_t;
extern "C" {
int esp_sleep_enable_timer_wakeup(uint64_t us);
int esp_sleep_enable_ext0_wakeup(gpio_num_t pin, int level);
int esp_sleep_enable_ext1_wakeup(uint64_t mask, esp_sleep_ext1_wakeup_mode_t mode);
int esp_sleep_enable_ext1_wakeup_io(uint64_t mask, esp_sleep_ext1_wakeup_mode_t mode);
int esp_deep_sleep_enable_gpio_wakeup(uint64_t mask, esp_deepsleep_gpio_wake_up_mode_t mode);
void esp_deep_sleep_start(void);
}
