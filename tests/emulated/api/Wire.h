// The two-wire bus as the cores declare it, in our own words; what differs is how pins are chosen.
#pragma once

#include "Arduino.h"

class TwoWire : public Stream {
  public:
    explicit TwoWire(int number) : number_(number) {}
#if defined(ARDUINO_ARCH_STM32)
    TwoWire(uint32_t sda, uint32_t scl) : number_(1) { setSDA(sda), setSCL(scl); }
#endif
#if defined(ARDUINO_ARCH_ESP32)
    bool begin();
    bool begin(int sda, int scl, uint32_t hz = 0);
#elif defined(ARDUINO_ARCH_ESP8266)
    void begin();
    void begin(int sda, int scl);
#else
    void begin();
#endif
#if defined(ARDUINO_ARCH_RP2040)
    bool setSDA(pin_size_t pin);
    bool setSCL(pin_size_t pin);
#elif defined(ARDUINO_ARCH_STM32)
    void setSDA(uint32_t pin);
    void setSCL(uint32_t pin);
#elif defined(ARDUINO_ARCH_NRF52)
    void setPins(uint8_t sda, uint8_t scl);
#endif
    void end();
    void setClock(uint32_t hz);
    void beginTransmission(uint8_t address);
    uint8_t endTransmission(bool stop = true);
    uint8_t requestFrom(uint8_t address, uint8_t count);
    size_t write(uint8_t value) override;
    using Print::write;
    int available() override;
    int read() override;
    int peek() override;

  private:
    int number_;
};

extern TwoWire Wire;
#if !defined(ARDUINO_ARCH_ESP8266) && !defined(ARDUINO_ARCH_STM32) && !defined(ARDUINO_ARCH_SAMD)
extern TwoWire Wire1;
#endif
