// The clocked serial bus as the cores declare it, in our own words; what differs is how pins are chosen.
#pragma once

#include "Arduino.h"

#define SPI_MODE0 0
#define SPI_MODE1 1
#define SPI_MODE2 2
#define SPI_MODE3 3

#if defined(ARDUINO_ARCH_ESP32)
#define FSPI 0
#define HSPI 1
#endif

class SPISettings {
  public:
    SPISettings(uint32_t hz, int order, int mode) : hz_(hz), order_(order), mode_(mode) {}
    uint32_t hz_;
    int order_, mode_;
};

class SPIClass {
  public:
    explicit SPIClass(int number) : number_(number) {}
#if defined(ARDUINO_ARCH_STM32)
    SPIClass(uint32_t mosi, uint32_t miso, uint32_t sck) : number_(1) { setMOSI(mosi), setMISO(miso), setSCLK(sck); }
#endif
#if defined(ARDUINO_ARCH_ESP32)
    void begin(int8_t sck = -1, int8_t miso = -1, int8_t mosi = -1, int8_t ss = -1);
#else
    void begin();
#endif
#if defined(ARDUINO_ARCH_RP2040)
    bool setSCK(pin_size_t pin);
    bool setRX(pin_size_t pin);
    bool setTX(pin_size_t pin);
#elif defined(ARDUINO_ARCH_STM32)
    void setSCLK(uint32_t pin);
    void setMISO(uint32_t pin);
    void setMOSI(uint32_t pin);
#elif defined(ARDUINO_ARCH_NRF52)
    void setPins(uint8_t miso, uint8_t sck, uint8_t mosi);
#endif
    void end();
    void beginTransaction(SPISettings settings);
    void endTransaction();
    uint8_t transfer(uint8_t value);

  private:
    int number_;
};

extern SPIClass SPI;
#if defined(ARDUINO_ARCH_RP2040)
extern SPIClass SPI1;
#endif
