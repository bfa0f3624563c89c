// What the pinMode/digitalWrite core API declares, in our own words, with the differences between the cores that matter to
// generated code: which names are macros and which are enumerators, and what each core's PWM, converter and sleep calls take.
// Calls are written down by host.cpp.  Sources: the header files of the cores named in pinwright/pack/firmware/cores.toml.
#pragma once

#include <math.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.1415926535897932384626433832795
#define HALF_PI 1.5707963267948966192313216916398
#define TWO_PI 6.283185307179586476925286766559
#define DEG_TO_RAD 0.017453292519943295769236907684886
#define RAD_TO_DEG 57.295779513082320876798154814105
#define EULER 2.718281828459045235360287471352
#define LSBFIRST 0
#define MSBFIRST 1
#define DEC 10
#define HEX 16
#define OCT 8
#define BIN 2
#define B0 0
#define B1 1
#define B01 1
#define bit(b) (1UL << (b))
#define lowByte(w) ((uint8_t)((w) & 0xff))
#define highByte(w) ((uint8_t)((w) >> 8))
#define bitRead(value, bit) (((value) >> (bit)) & 0x01)
#define sq(x) ((x) * (x))
#define constrain(amt, low, high) ((amt) < (low) ? (low) : ((amt) > (high) ? (high) : (amt)))
#define interrupts() host_interrupts(true)
#define noInterrupts() host_interrupts(false)
#define F(text) (reinterpret_cast<const __FlashStringHelper *>(text))
#define PSTR(text) (text)
#define PROGMEM
#define SERIAL 0x0
#define DISPLAY 0x1
#define DEFAULT 1
#define EXTERNAL 0
#define SERIAL_8N1 0x06
#define SERIAL_8N2 0x0E
#define SERIAL_8E1 0x26

class __FlashStringHelper;
typedef bool boolean;
typedef uint8_t byte;

#if defined(ARDUINO_ARCH_RP2040) || defined(ARDUINO_ARCH_MBED)
// Cores on the common API: levels and modes are enumerations, and no other type converts to them.
typedef enum { LOW = 0, HIGH = 1, CHANGE = 2, FALLING = 3, RISING = 4 } PinStatus;
typedef enum { INPUT = 0, OUTPUT = 1, INPUT_PULLUP = 2, INPUT_PULLDOWN = 3, OUTPUT_OPENDRAIN = 4 } PinMode;
typedef uint8_t pin_size_t;
typedef PinStatus host_level;
typedef PinMode host_mode;
typedef PinStatus host_edge;
#elif defined(ARDUINO_ARCH_SAMD) || defined(ARDUINO_ARCH_NRF52) || defined(ARDUINO_ARCH_STM32)
#define LOW 0x0
#define HIGH 0x1
#define INPUT 0x0
#define OUTPUT 0x1
#define INPUT_PULLUP 0x2
#define INPUT_PULLDOWN 0x3
#define OUTPUT_OPEN_DRAIN 0x4
#define CHANGE 2
#define FALLING 3
#define RISING 4
typedef uint32_t pin_size_t;
typedef uint32_t host_level;
typedef uint32_t host_mode;
typedef uint32_t host_edge;
#elif defined(ARDUINO_ARCH_ESP8266)
#define LOW 0x0
#define HIGH 0x1
#define INPUT 0x00
#define OUTPUT 0x01
#define INPUT_PULLUP 0x02
#define OUTPUT_OPEN_DRAIN 0x03
#define INPUT_PULLDOWN_16 0x04
#define RISING 0x01
#define FALLING 0x02
#define CHANGE 0x03
#define PWMRANGE 1023
typedef uint8_t pin_size_t;
typedef uint8_t host_level;
typedef uint8_t host_mode;
typedef int host_edge;
#elif defined(ARDUINO_ARCH_ESP32)
#define LOW 0x0
#define HIGH 0x1
#define INPUT 0x01
#define OUTPUT 0x03
#define INPUT_PULLUP 0x05
#define INPUT_PULLDOWN 0x09
#define OPEN_DRAIN 0x10
#define OUTPUT_OPEN_DRAIN 0x13
#define RISING 0x01
#define FALLING 0x02
#define CHANGE 0x03
typedef uint8_t pin_size_t;
typedef uint8_t host_level;
typedef uint8_t host_mode;
typedef int host_edge;
#else
#define LOW 0x0
#define HIGH 0x1
#define INPUT 0x0
#define OUTPUT 0x1
#define INPUT_PULLUP 0x2
#define CHANGE 1
#define FALLING 2
#define RISING 3
typedef uint8_t pin_size_t;
typedef uint8_t host_level;
typedef uint8_t host_mode;
typedef int host_edge;
#endif

#if defined(ARDUINO_ARCH_ESP32) || defined(ARDUINO_ARCH_ESP8266)
#define IRAM_ATTR __attribute__((section(".iram.host")))
#define ICACHE_RAM_ATTR IRAM_ATTR
#endif
#if defined(ARDUINO_ARCH_ESP32)
#define RTC_DATA_ATTR
#endif

extern "C" {
void pinMode(pin_size_t pin, host_mode mode);
void digitalWrite(pin_size_t pin, host_level level);
#if defined(ARDUINO_ARCH_RP2040) || defined(ARDUINO_ARCH_MBED)
PinStatus digitalRead(pin_size_t pin);
#else
int digitalRead(pin_size_t pin);
#endif
int analogRead(pin_size_t pin);
unsigned long millis(void);
unsigned long micros(void);
void delay(unsigned long ms);
void delayMicroseconds(unsigned int us);
void yield(void);
void attachInterrupt(pin_size_t pin, void (*handler)(void), host_edge edge);
void detachInterrupt(pin_size_t pin);
void host_interrupts(bool on);
void setup(void);
void loop(void);
#if !defined(ARDUINO_ARCH_ESP32)
void analogWrite(pin_size_t pin, int value);
#endif
}
unsigned long pulseIn(pin_size_t pin, uint8_t state, unsigned long timeout = 1000000L);
void tone(pin_size_t pin, unsigned int hz, unsigned long ms = 0);
void noTone(pin_size_t pin);
void shiftOut(pin_size_t data, pin_size_t clock, int order, uint8_t value);
long map(long value, long from_low, long from_high, long to_low, long to_high);

#define digitalPinToInterrupt(pin) (pin)
#if !defined(ARDUINO_ARCH_ESP8266)
extern "C" void analogReadResolution(int bits);
#endif

#if defined(ARDUINO_ARCH_ESP32)
#ifndef ESP_ARDUINO_VERSION_MAJOR
#define ESP_ARDUINO_VERSION_MAJOR 3
#endif
typedef enum { ADC_0db, ADC_2_5db, ADC_6db, ADC_11db } adc_attenuation_t;
extern "C" {
void analogSetPinAttenuation(uint8_t pin, adc_attenuation_t attenuation);
uint32_t analogReadMilliVolts(uint8_t pin);
void dacWrite(uint8_t pin, uint8_t value);
#if ESP_ARDUINO_VERSION_MAJOR >= 3
bool ledcAttach(uint8_t pin, uint32_t hz, uint8_t bits);
bool ledcWrite(uint8_t pin, uint32_t duty);
bool ledcDetach(uint8_t pin);
#else
double ledcSetup(uint8_t channel, double hz, uint8_t bits);
void ledcAttachPin(uint8_t pin, uint8_t channel);
void ledcWrite(uint8_t channel, uint32_t duty);
void ledcDetachPin(uint8_t pin);
#endif
}
#elif defined(ARDUINO_ARCH_ESP8266)
extern "C" void analogWriteFreq(uint32_t hz);
extern "C" void analogWriteRange(uint32_t range);
#elif defined(ARDUINO_ARCH_RP2040)
extern "C" void analogWriteFreq(uint32_t hz);
extern "C" void analogWriteRange(uint32_t range);
extern "C" void analogWriteResolution(int bits);
#elif defined(ARDUINO_ARCH_STM32)
extern "C" void analogWriteFrequency(uint32_t hz);
extern "C" void analogWriteResolution(int bits);
#elif defined(ARDUINO_ARCH_SAMD)
extern "C" void analogWriteResolution(int bits);
#endif

class Print {
  public:
    virtual ~Print() {}
    virtual size_t write(uint8_t value) = 0;
    size_t write(const char *text);
    size_t write(const uint8_t *data, size_t count);
    size_t print(const __FlashStringHelper *text);
    size_t print(const char *text);
    size_t print(char value);
    size_t print(unsigned char value, int base = DEC);
    size_t print(int value, int base = DEC);
    size_t print(unsigned int value, int base = DEC);
    size_t print(long value, int base = DEC);
    size_t print(unsigned long value, int base = DEC);
    size_t print(double value, int digits = 2);
    size_t println(void);
    template <typename T> size_t println(T value) { return print(value) + println(); }
    template <typename T> size_t println(T value, int how) { return print(value, how) + println(); }
};

class Stream : public Print {
  public:
    virtual int available() = 0;
    virtual int read() = 0;
    virtual int peek() = 0;
    virtual void flush() {}
    void setTimeout(unsigned long ms);
};

class HardwareSerial : public Stream {
  public:
    explicit HardwareSerial(int number) : number_(number) {}
    void begin(unsigned long baud);
    void begin(unsigned long baud, uint32_t config);
#if defined(ARDUINO_ARCH_ESP32)
    void begin(unsigned long baud, uint32_t config, int8_t rx, int8_t tx);
#endif
#if defined(ARDUINO_ARCH_RP2040)
    bool setRX(pin_size_t pin);
    bool setTX(pin_size_t pin);
#endif
#if defined(ARDUINO_ARCH_STM32)
    void setRx(uint32_t pin);
    void setTx(uint32_t pin);
    HardwareSerial(uint32_t rx, uint32_t tx) : number_(8) { setRx(rx), setTx(tx); }
#endif
#if defined(ARDUINO_ARCH_ESP8266)
    void swap();
#endif
#if defined(ARDUINO_ARCH_NRF52)
    void setPins(uint8_t rx, uint8_t tx);
#endif
    void end();
    int available() override;
    int read() override;
    int peek() override;
    size_t write(uint8_t value) override;
    using Print::write;
    operator bool() const { return true; }

  private:
    int number_;
};

extern HardwareSerial Serial;
#if defined(ARDUINO_ARCH_STM32)
extern HardwareSerial Serial1, Serial2, Serial3, Serial6;
#elif defined(ARDUINO_ARCH_ESP8266)
extern HardwareSerial Serial1;
#elif defined(ARDUINO_ARCH_MBED) || defined(ARDUINO_ARCH_SAMD)
extern HardwareSerial Serial1;
#else
extern HardwareSerial Serial1, Serial2, Serial3;
#endif

#if defined(ARDUINO_ARCH_ESP8266)
class EspClass {
  public:
    void deepSleep(uint64_t us);
};
extern EspClass ESP;
#endif

#include "pins_host.h"
