// A serial port in software, in our own words.
#pragma once

#include "Arduino.h"

class SoftwareSerial : public HardwareSerial {
  public:
    SoftwareSerial(uint8_t rx, uint8_t tx) : HardwareSerial(9), rx_(rx), tx_(tx) {}

  private:
    uint8_t rx_, tx_;
};
