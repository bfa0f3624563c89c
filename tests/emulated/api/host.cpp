// Records every call of the core API on the host and plays a script of what happens outside.
//
// Arguments: LOOPS ANSWER.  ANSWER is given each time the firmware asks (a line with "[y/n]"), "-" for none.
// Script on stdin, in order of time, one a line:
//   T_MS pin NUMBER LEVEL    T_MS adc NUMBER CODE    T_MS serial TEXT
// Written to stdout, one a line: "T_US call arguments".  Time only passes in delays, in loop() (1 ms each) and a little
// with every question for the time, so that waiting loops end.
#include "Arduino.h"
#include "SPI.h"
#include "Wire.h"
#if defined(ARDUINO_ARCH_RP2040)
#include "hardware/clocks.h"
#include "hardware/pwm.h"
#elif defined(ARDUINO_ARCH_ESP32)
#include "driver/rtc_io.h"
#include "esp_sleep.h"
#elif defined(ARDUINO_ARCH_MBED)
#include "mbed.h"
#endif

#include <stdio.h>

#include <deque>
#include <map>
#include <set>
#include <string>
#include <vector>

namespace {
uint64_t now_us = 0;
std::map<uint32_t, int> driven_outside, codes;
std::map<uint32_t, int> modes, outputs;
std::set<uint32_t> muxed, known;
struct Handler {
    void (*call)(void);
    int edge;
};
std::map<uint32_t, Handler> handlers;
std::deque<char> typed;
std::string line_out, answer = "-";
int asked = 0;
struct Event {
    uint64_t at_us;
    std::string kind, rest;
};
std::vector<Event> events;
size_t next_event = 0;
bool enabled = true;

void log_call(const char *text) { printf("%llu %s\n", (unsigned long long)now_us, text); }

int level_at(uint32_t pin) {
    auto outside = driven_outside.find(pin);
    const int mode = modes.count(pin) ? modes[pin] : int(INPUT);
    if (mode == int(OUTPUT)) return outputs[pin];
    if (outside != driven_outside.end()) return outside->second;
    return mode == int(INPUT_PULLUP) ? 1 : 0;
}

void change(uint32_t pin, int level) {
    const int before = level_at(pin);
    driven_outside[pin] = level;
    const int after = level_at(pin);
    auto found = handlers.find(pin);
    if (before == after || found == handlers.end() || !enabled) return;
    const int edge = found->second.edge;
    if (edge == int(CHANGE) || (edge == int(RISING) && after) || (edge == int(FALLING) && !after)) found->second.call();
}

void pass(uint64_t us) {
    now_us += us;
    while (next_event < events.size() && events[next_event].at_us <= now_us) {
        const Event &event = events[next_event++];
        unsigned a = 0;
        int b = 0;
        if (event.kind == "pin" && sscanf(event.rest.c_str(), "%u %d", &a, &b) == 2) change(a, b);
        if (event.kind == "adc" && sscanf(event.rest.c_str(), "%u %d", &a, &b) == 2) codes[a] = b;
        if (event.kind == "serial") {
            for (char c : event.rest) typed.push_back(c);
            typed.push_back('\n');
        }
    }
}

void say(const char *format, unsigned long a = 0, unsigned long b = 0, unsigned long c = 0, unsigned long d = 0) {
    char text[200];
    snprintf(text, sizeof text, format, a, b, c, d);
    log_call(text);
}
} // namespace

// What a pin really does is told whenever it changes: hi-Z, pull-up, pull-down, low, high, pwm.
void tell_state(uint32_t pin) {
    static std::map<uint32_t, std::string> told;
    const int mode = modes.count(pin) ? modes[pin] : int(INPUT);
    std::string state = "hi-Z";
    if (muxed.count(pin)) state = "pwm";
    else if (mode == int(OUTPUT)) state = outputs[pin] ? "high" : "low";
    else if (mode == int(INPUT_PULLUP)) state = "pull-up";
    else if (mode != int(INPUT)) state = "pull-down";
    if (!told.count(pin) || told[pin] != state) printf("%llu state %u %s\n", (unsigned long long)now_us, unsigned(pin), state.c_str());
    told[pin] = state;
}

extern "C" {
void pinMode(pin_size_t pin, host_mode mode) {
    muxed.erase(pin);
#if defined(ARDUINO_ARCH_RP2040) || defined(ARDUINO_ARCH_MBED)
    outputs[pin] = 0; // these cores put the level back to low with every mode
#endif
    known.insert(pin);
    modes[pin] = int(mode);
    tell_state(pin);
}
void digitalWrite(pin_size_t pin, host_level level) {
#if defined(ARDUINO_ARCH_STM32) || (defined(ARDUINO_ARCH_ESP32) && ESP_ARDUINO_VERSION_MAJOR >= 3)
    if (!known.count(pin)) { // no clock, or a pin the core does not know: the level is lost
        say("fault level-lost %lu", pin);
        return;
    }
#endif
#if defined(ARDUINO_ARCH_MBED)
    if (!known.count(pin)) modes[pin] = int(OUTPUT), known.insert(pin);
#endif
#if defined(ARDUINO_ARCH_AVR) || defined(ARDUINO_ARCH_SAMD)
    if (modes.count(pin) && modes[pin] != int(OUTPUT)) modes[pin] = level ? int(INPUT_PULLUP) : int(INPUT);
#endif
    outputs[pin] = level ? 1 : 0;
    tell_state(pin);
}
#if defined(ARDUINO_ARCH_RP2040) || defined(ARDUINO_ARCH_MBED)
PinStatus digitalRead(pin_size_t pin) { return level_at(pin) ? HIGH : LOW; }
#else
int digitalRead(pin_size_t pin) { return level_at(pin); }
#endif
int analogRead(pin_size_t pin) {
    say("analog-read %lu", pin);
    return codes.count(pin) ? codes[pin] : 0;
}
unsigned long millis(void) {
    pass(1);
    return (unsigned long)(now_us / 1000);
}
unsigned long micros(void) {
    pass(1);
    return (unsigned long)now_us;
}
void delay(unsigned long ms) { pass(ms * 1000ULL); }
void delayMicroseconds(unsigned int us) { pass(us); }
void yield(void) { pass(1); }
void attachInterrupt(pin_size_t pin, void (*handler)(void), host_edge edge) {
    handlers[pin] = Handler{handler, int(edge)};
    say(edge == CHANGE ? "interrupt %lu both" : edge == RISING ? "interrupt %lu rising" : "interrupt %lu falling", pin);
}
void detachInterrupt(pin_size_t pin) { handlers.erase(pin); }
void host_interrupts(bool on) { enabled = on; }
#if !defined(ARDUINO_ARCH_ESP32)
namespace {
unsigned long pwm_hz = 0, pwm_top = 255;
}
void analogWrite(pin_size_t pin, int value) {
    say("pwm-set-up %lu %lu", pin, pwm_hz);
    say("pwm %lu %lu %lu", pin, (unsigned long)value, pwm_top);
    muxed.insert(pin);
}
#endif
#if !defined(ARDUINO_ARCH_ESP8266)
void analogReadResolution(int bits) { say("analog-resolution %lu", (unsigned long)bits); }
#endif
#if defined(ARDUINO_ARCH_ESP32)
void analogSetPinAttenuation(uint8_t pin, adc_attenuation_t attenuation) { say("attenuation %lu %lu", pin, attenuation); }
uint32_t analogReadMilliVolts(uint8_t pin) {
    say("millivolts %lu", pin);
    return codes.count(pin) ? (uint32_t)codes[pin] : 0;
}
uint16_t touchRead(uint8_t pin) {
    say("touch %lu", pin);
    return 40;
}
void dacWrite(uint8_t pin, uint8_t value) { say("dac %lu %lu", pin, value); }
#if ESP_ARDUINO_VERSION_MAJOR >= 3
bool ledcAttach(uint8_t pin, uint32_t hz, uint8_t bits) {
    say("pwm-set-up %lu %lu %lu", pin, hz, bits);
    muxed.insert(pin);
    return true;
}
bool ledcWrite(uint8_t pin, uint32_t duty) {
    say("pwm %lu %lu", pin, duty);
    return true;
}
bool ledcDetach(uint8_t pin) {
    say("pwm-end %lu", pin);
    return true;
}
#else
namespace {
std::map<uint8_t, uint8_t> channel_pin;
std::map<uint8_t, unsigned long> channel_hz, channel_bits;
}
double ledcSetup(uint8_t channel, double hz, uint8_t bits) {
    channel_hz[channel] = (unsigned long)(hz + 0.5);
    channel_bits[channel] = bits;
    for (auto &other : channel_hz) // two neighbours run on one timer
        if (other.first / 2 == channel / 2 && other.second != channel_hz[channel]) say("fault two-rates %lu %lu", other.first, channel);
    return hz;
}
void ledcAttachPin(uint8_t pin, uint8_t channel) {
    channel_pin[channel] = pin;
    say("pwm-set-up %lu %lu %lu %lu", pin, channel_hz[channel], channel_bits[channel], channel);
}
void ledcWrite(uint8_t channel, uint32_t duty) {
    if (!channel_pin.count(channel)) say("fault no-pin %lu", channel);
    say("pwm %lu %lu", channel_pin[channel], duty);
}
void ledcDetachPin(uint8_t pin) { say("pwm-end %lu", pin); }
#endif
#endif
#if defined(ARDUINO_ARCH_ESP8266) || defined(ARDUINO_ARCH_RP2040)
void analogWriteFreq(uint32_t hz) { pwm_hz = hz; }
void analogWriteRange(uint32_t range) { pwm_top = range; }
#endif
#if defined(ARDUINO_ARCH_STM32)
void analogWriteFrequency(uint32_t hz) { pwm_hz = hz; }
#endif
#if defined(ARDUINO_ARCH_STM32) || defined(ARDUINO_ARCH_SAMD) || defined(ARDUINO_ARCH_RP2040)
void analogWriteResolution(int bits) { pwm_top = (1UL << bits) - 1; }
#endif
}

#if defined(ARDUINO_ARCH_ESP8266)
void EspClass::deepSleep(uint64_t us) {
    say("sleep %lu", (unsigned long)us);
    exit(0);
}
EspClass ESP;
#endif

unsigned long pulseIn(pin_size_t pin, uint8_t state, unsigned long timeout) {
    say("pulse-in %lu %lu %lu", pin, state, timeout);
    pass(1160);
    return 1160;
}
void tone(pin_size_t pin, unsigned int hz, unsigned long) { say("tone %lu %lu", pin, hz); }
void noTone(pin_size_t pin) { say("no-tone %lu", pin); }
void shiftOut(pin_size_t data, pin_size_t clock, int, uint8_t value) { say("shift-out %lu %lu %lu", data, clock, value); }
long map(long value, long a, long b, long c, long d) { return (value - a) * (d - c) / (b - a) + c; }

size_t Print::write(const char *text) { return write(reinterpret_cast<const uint8_t *>(text), strlen(text)); }
size_t Print::write(const uint8_t *data, size_t count) {
    for (size_t i = 0; i < count; i++) write(data[i]);
    return count;
}
size_t Print::print(const __FlashStringHelper *text) { return write(reinterpret_cast<const char *>(text)); }
size_t Print::print(const char *text) { return write(text); }
size_t Print::print(char value) { return write(uint8_t(value)); }
size_t Print::print(unsigned long value, int base) {
    char text[72];
    char *at = text + sizeof text - 1;
    *at = 0;
    do {
        *--at = "0123456789ABCDEF"[value % (unsigned long)base];
        value /= (unsigned long)base;
    } while (value);
    return write(at);
}
size_t Print::print(long value, int base) {
    if (base == DEC && value < 0) return print('-') + print((unsigned long)-value, base);
    return print((unsigned long)value, base);
}
size_t Print::print(unsigned char value, int base) { return print((unsigned long)value, base); }
size_t Print::print(int value, int base) { return print((long)value, base); }
size_t Print::print(unsigned int value, int base) { return print((unsigned long)value, base); }
size_t Print::print(double value, int digits) {
    char text[64];
    snprintf(text, sizeof text, "%.*f", digits, value);
    return write(text);
}
size_t Print::println(void) { return write("\r\n"); }
void Stream::setTimeout(unsigned long) {}

HardwareSerial Serial(0);
#if defined(ARDUINO_ARCH_STM32)
HardwareSerial Serial1(1), Serial2(2), Serial3(3), Serial6(6);
void HardwareSerial::setRx(uint32_t pin) { say("uart-rx %lu %lu", (unsigned long)number_, pin); }
void HardwareSerial::setTx(uint32_t pin) { say("uart-tx %lu %lu", (unsigned long)number_, pin); }
#elif defined(ARDUINO_ARCH_ESP8266) || defined(ARDUINO_ARCH_MBED) || defined(ARDUINO_ARCH_SAMD)
HardwareSerial Serial1(1);
#else
HardwareSerial Serial1(1), Serial2(2), Serial3(3);
#endif
#if defined(ARDUINO_ARCH_ESP32)
void HardwareSerial::begin(unsigned long baud, uint32_t, int8_t rx, int8_t tx) {
    say("uart-rx %lu %lu", (unsigned long)number_, (unsigned long)rx);
    say("uart-tx %lu %lu", (unsigned long)number_, (unsigned long)tx);
    begin(baud);
}
#endif
#if defined(ARDUINO_ARCH_RP2040)
bool HardwareSerial::setRX(pin_size_t pin) {
    say("uart-rx %lu %lu", (unsigned long)number_, pin);
    return true;
}
bool HardwareSerial::setTX(pin_size_t pin) {
    say("uart-tx %lu %lu", (unsigned long)number_, pin);
    return true;
}
#endif
#if defined(ARDUINO_ARCH_ESP8266)
void HardwareSerial::swap() { say("uart-swap %lu", (unsigned long)number_); }
#endif
void HardwareSerial::begin(unsigned long baud) { say("uart %lu %lu", (unsigned long)number_, baud); }
void HardwareSerial::begin(unsigned long baud, uint32_t) { begin(baud); }
void HardwareSerial::end() {}
int HardwareSerial::available() {
    pass(20);
    if (number_ != 0) return 0;
    if (asked == 2 && answer != "-") { // whoever answers waits until the firmware has looked once
        for (char c : answer) typed.push_back(c);
        typed.push_back('\n');
        asked = 0;
    }
    if (asked == 1 && typed.empty()) asked = 2;
    return int(typed.size());
}
int HardwareSerial::read() {
    if (number_ != 0 || typed.empty()) return -1;
    const char c = typed.front();
    typed.pop_front();
    return uint8_t(c);
}
int HardwareSerial::peek() { return number_ == 0 && !typed.empty() ? uint8_t(typed.front()) : -1; }
size_t HardwareSerial::write(uint8_t value) {
    if (number_ != 0) return 1;
    line_out += char(value);
    if (line_out.size() >= 5 && line_out.compare(line_out.size() - 5, 5, "[y/n]") == 0) asked = 1;
    if (line_out.size() >= 11 && line_out.compare(line_out.size() - 11, 11, "press Enter") == 0) asked = 1;
    if (value == '\n') {
        while (!line_out.empty() && (line_out.back() == '\n' || line_out.back() == '\r')) line_out.pop_back();
        printf("%llu says %s\n", (unsigned long long)now_us, line_out.c_str());
        line_out.clear();
    }
    return 1;
}

#if defined(ARDUINO_ARCH_RP2040)
extern "C" {
void gpio_init(uint pin) { pinMode(pin, INPUT); }
void gpio_put(uint pin, bool level) {
    outputs[pin] = level;
    tell_state(pin);
}
void gpio_set_dir(uint pin, bool out) {
    modes[pin] = out ? int(OUTPUT) : int(INPUT);
    tell_state(pin);
}
void gpio_set_function(uint pin, enum gpio_function) {
    muxed.insert(pin);
    tell_state(pin);
}
uint pwm_gpio_to_slice_num(uint pin) { return (pin / 2) % 8; }
pwm_config pwm_get_default_config(void) { return pwm_config{1.0f, 0xFFFF}; }
void pwm_config_set_clkdiv(pwm_config *config, float divider) {
    if (divider < 1.0f || divider >= 256.0f) say("fault divider %lu", (unsigned long)divider);
    config->divider = divider;
}
void pwm_config_set_wrap(pwm_config *config, uint16_t wrap) { config->wrap = wrap; }
namespace {
std::map<uint, pwm_config> slices;
}
void pwm_init(uint slice, pwm_config *config, bool) { slices[slice] = *config; }
void pwm_set_gpio_level(uint pin, uint16_t value) {
    const pwm_config &slice = slices[pwm_gpio_to_slice_num(pin)];
    say("pwm-set-up %lu %lu", pin, (unsigned long)(125e6 / slice.divider / (slice.wrap + 1.0) + 0.5));
    say("pwm %lu %lu %lu", pin, value, slice.wrap + 1UL);
}
uint32_t clock_get_hz(enum clock_index) { return 125000000UL; }
}
#elif defined(ARDUINO_ARCH_NRF52)
const uint32_t g_ADigitalPinMap[256] = {0};
NRF_POWER_Type host_power;
NRF_POWER_Type *NRF_POWER = &host_power;
HostSystemOff &HostSystemOff::operator=(uint32_t) {
    say("sleep");
    exit(0);
}
void nrf_gpio_cfg_sense_input(uint32_t, nrf_gpio_pin_pull_t pull, nrf_gpio_pin_sense_t sense) { say("wake %lu %lu", pull, sense); }
void analogReference(eAnalogReference reference) { say("analog-reference %lu", reference); }
namespace {
HardwarePWM blocks[4];
}
HardwarePWM *HwPWMx[] = {&blocks[0], &blocks[1], &blocks[2], &blocks[3]};
void HardwarePWM::setResolution(uint8_t) {}
void HardwarePWM::setMaxValue(uint16_t value) {
    if (max_ && max_ != value) say("fault two-rates");
    max_ = value;
}
void HardwarePWM::setClockDiv(uint8_t divider) { divider_ = divider; }
bool HardwarePWM::addPin(uint8_t pin) {
    say("pwm-set-up %lu %lu", pin, (unsigned long)((16e6 / (1 << divider_)) / max_ + 0.5));
    muxed.insert(pin);
    return true;
}
bool HardwarePWM::writePin(uint8_t pin, uint16_t value, bool) {
    say("pwm %lu %lu %lu", pin, value, max_);
    return true;
}
void HardwarePWM::begin(void) {}
void HardwareSerial::setPins(uint8_t rx, uint8_t tx) {
    say("uart-rx %lu %lu", (unsigned long)number_, rx);
    say("uart-tx %lu %lu", (unsigned long)number_, tx);
}
#elif defined(ARDUINO_ARCH_SAMD)
void analogReference(eAnalogReference reference) { say("analog-reference %lu", reference); }
#elif defined(ARDUINO_ARCH_MBED)
PinName digitalPinToPinName(pin_size_t pin) { return pin; }
void mbed::PwmOut::period_us(int us) {
    us_ = us;
    say("pwm-set-up %lu %lu", (unsigned long)pin_, (unsigned long)(1e6 / us + 0.5));
    muxed.insert(pin_);
}
void mbed::PwmOut::write(float duty) { say("pwm %lu %lu %lu", (unsigned long)pin_, (unsigned long)(duty * 4095 + 0.5f), 4095UL); }
#elif defined(ARDUINO_ARCH_ESP32)
extern "C" {
int esp_sleep_enable_timer_wakeup(uint64_t us) { return say("wake-timer %lu", (unsigned long)(us / 1000)), 0; }
int esp_sleep_enable_ext0_wakeup(gpio_num_t pin, int level) { return say("wake-ext0 %lu %lu", (unsigned long)pin, (unsigned long)level), 0; }
int esp_sleep_enable_ext1_wakeup(uint64_t mask, esp_sleep_ext1_wakeup_mode_t mode) { return say("wake-ext1 %lu %lu", mask, mode), 0; }
int esp_sleep_enable_ext1_wakeup_io(uint64_t mask, esp_sleep_ext1_wakeup_mode_t mode) { return say("wake-each %lu %lu", mask, mode), 0; }
int esp_deep_sleep_enable_gpio_wakeup(uint64_t mask, esp_deepsleep_gpio_wake_up_mode_t mode) {
    return say("wake-gpio %lu %lu", mask, mode), 0;
}
void esp_deep_sleep_start(void) {
    say("sleep");
    exit(0);
}
int gpio_hold_en(gpio_num_t pin) { return say("hold %lu", (unsigned long)pin), 0; }
int gpio_hold_dis(gpio_num_t pin) { return say("let-go %lu", (unsigned long)pin), 0; }
void gpio_deep_sleep_hold_en(void) { say("hold-all"); }
int rtc_gpio_pullup_en(gpio_num_t pin) { return say("keep-pull %lu 1", (unsigned long)pin), 0; }
int rtc_gpio_pulldown_en(gpio_num_t pin) { return say("keep-pull %lu 0", (unsigned long)pin), 0; }
}
#endif

TwoWire Wire(0);
#if !defined(ARDUINO_ARCH_ESP8266) && !defined(ARDUINO_ARCH_STM32) && !defined(ARDUINO_ARCH_SAMD)
TwoWire Wire1(1);
#endif
#if defined(ARDUINO_ARCH_ESP32)
bool TwoWire::begin() {
    say("i2c %lu", (unsigned long)number_);
    return true;
}
bool TwoWire::begin(int sda, int scl, uint32_t hz) {
    say("i2c %lu %lu %lu %lu", (unsigned long)number_, (unsigned long)sda, (unsigned long)scl, hz);
    return true;
}
#else
void TwoWire::begin() { say("i2c %lu", (unsigned long)number_); }
#if defined(ARDUINO_ARCH_ESP8266)
void TwoWire::begin(int sda, int scl) { say("i2c %lu %lu %lu", (unsigned long)number_, (unsigned long)sda, (unsigned long)scl); }
#endif
#endif
#if defined(ARDUINO_ARCH_RP2040)
bool TwoWire::setSDA(pin_size_t pin) {
    say("i2c-sda %lu %lu", (unsigned long)number_, pin);
    return true;
}
bool TwoWire::setSCL(pin_size_t pin) {
    say("i2c-scl %lu %lu", (unsigned long)number_, pin);
    return true;
}
#elif defined(ARDUINO_ARCH_STM32)
void TwoWire::setSDA(uint32_t pin) { say("i2c-sda %lu %lu", (unsigned long)number_, pin); }
void TwoWire::setSCL(uint32_t pin) { say("i2c-scl %lu %lu", (unsigned long)number_, pin); }
#elif defined(ARDUINO_ARCH_NRF52)
void TwoWire::setPins(uint8_t sda, uint8_t scl) {
    say("i2c-sda %lu %lu", (unsigned long)number_, sda);
    say("i2c-scl %lu %lu", (unsigned long)number_, scl);
}
#endif
void TwoWire::end() {}
void TwoWire::setClock(uint32_t hz) { say("i2c-hz %lu %lu", (unsigned long)number_, hz); }
void TwoWire::beginTransmission(uint8_t address) { say("i2c-call %lu %lu", (unsigned long)number_, address); }
uint8_t TwoWire::endTransmission(bool) { return 0; }
uint8_t TwoWire::requestFrom(uint8_t, uint8_t) { return 0; }
size_t TwoWire::write(uint8_t) { return 1; }
int TwoWire::available() { return 0; }
int TwoWire::read() { return -1; }
int TwoWire::peek() { return -1; }

SPIClass SPI(0);
#if defined(ARDUINO_ARCH_RP2040)
SPIClass SPI1(1);
bool SPIClass::setSCK(pin_size_t pin) {
    say("spi-sck %lu %lu", (unsigned long)number_, pin);
    return true;
}
bool SPIClass::setRX(pin_size_t pin) {
    say("spi-miso %lu %lu", (unsigned long)number_, pin);
    return true;
}
bool SPIClass::setTX(pin_size_t pin) {
    say("spi-mosi %lu %lu", (unsigned long)number_, pin);
    return true;
}
#elif defined(ARDUINO_ARCH_STM32)
void SPIClass::setSCLK(uint32_t pin) { say("spi-sck %lu %lu", (unsigned long)number_, pin); }
void SPIClass::setMISO(uint32_t pin) { say("spi-miso %lu %lu", (unsigned long)number_, pin); }
void SPIClass::setMOSI(uint32_t pin) { say("spi-mosi %lu %lu", (unsigned long)number_, pin); }
#elif defined(ARDUINO_ARCH_NRF52)
void SPIClass::setPins(uint8_t miso, uint8_t sck, uint8_t mosi) {
    say("spi-sck %lu %lu", (unsigned long)number_, sck);
    say("spi-miso %lu %lu", (unsigned long)number_, miso);
    say("spi-mosi %lu %lu", (unsigned long)number_, mosi);
}
#endif
#if defined(ARDUINO_ARCH_ESP32)
void SPIClass::begin(int8_t sck, int8_t miso, int8_t mosi, int8_t) {
    say("spi %lu", (unsigned long)number_);
    if (sck >= 0) say("spi-sck %lu %lu", (unsigned long)number_, (unsigned long)sck);
    if (miso >= 0) say("spi-miso %lu %lu", (unsigned long)number_, (unsigned long)miso);
    if (mosi >= 0) say("spi-mosi %lu %lu", (unsigned long)number_, (unsigned long)mosi);
}
#else
void SPIClass::begin() { say("spi %lu", (unsigned long)number_); }
#endif
void SPIClass::end() {}
void SPIClass::beginTransaction(SPISettings settings) { say("spi-hz %lu %lu", (unsigned long)number_, settings.hz_); }
void SPIClass::endTransaction() {}
uint8_t SPIClass::transfer(uint8_t) { return 0; }

int main(int argc, char **argv) {
    const int loops = argc > 1 ? atoi(argv[1]) : 10;
    if (argc > 2) answer = argv[2];
    char line[400];
    while (fgets(line, sizeof line, stdin)) {
        unsigned long long at = 0;
        char kind[16];
        int used = 0;
        line[strcspn(line, "\n")] = 0;
        if (sscanf(line, "%llu %15s %n", &at, kind, &used) >= 2) events.push_back(Event{at * 1000, kind, line + used});
    }
    log_call("set-up");
    setup();
    log_call("loops");
    for (int i = 0; i < loops; i++) {
        loop();
        pass(1000);
    }
    log_call("end");
    return 0;
}
