// What generated code takes of Mbed, in our own words.
#pragma once

#include "Arduino.h"

namespace mbed {
class PwmOut {
  public:
    explicit PwmOut(PinName pin) : pin_(pin) {}
    void period_us(int us);
    void write(float duty);

  private:
    PinName pin_;
    int us_ = 0;
};
} // namespace mbed
