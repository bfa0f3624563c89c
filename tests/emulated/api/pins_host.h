// Names of pins as the cores' pin tables have them; the numbers are ours where only the name matters.
#pragma once

#if defined(ARDUINO_ARCH_STM32)
// A pin is called by its pad: port times 16 plus number here.
#define HOST_PORT(port, base)                                                                                                            \
    enum { P##port##0 = base, P##port##1, P##port##2, P##port##3, P##port##4, P##port##5, P##port##6, P##port##7, P##port##8,            \
           P##port##9, P##port##10, P##port##11, P##port##12, P##port##13, P##port##14, P##port##15 };
HOST_PORT(A, 0)
HOST_PORT(B, 16)
HOST_PORT(C, 32)
#elif defined(ARDUINO_ARCH_ESP8266)
static const uint8_t A0 = 17;
#elif defined(ARDUINO_ARCH_SAMD) || defined(ARDUINO_ARCH_MBED) || defined(ARDUINO_ARCH_NRF52)
#define PIN_A0 100
static const uint8_t A0 = 100, A1 = 101, A2 = 102, A3 = 103, A4 = 104, A5 = 105, A6 = 106, A7 = 107, AREF = 110;
static const uint8_t SDA = 120, SCL = 121, SCK = 122, MOSI = 123, MISO = 124, SS = 125;
#define PIN_SERIAL1_RX 130
#define PIN_SERIAL1_TX 131
#define PIN_AREF 110
#endif

#if defined(ARDUINO_ARCH_SAMD)
typedef enum { AR_DEFAULT, AR_INTERNAL, AR_EXTERNAL, AR_INTERNAL1V0, AR_INTERNAL1V65, AR_INTERNAL2V23 } eAnalogReference;
extern "C" void analogReference(eAnalogReference reference);
#elif defined(ARDUINO_ARCH_NRF52)
typedef enum { AR_DEFAULT, AR_INTERNAL, AR_INTERNAL_3_0, AR_INTERNAL_2_4, AR_INTERNAL_1_8, AR_INTERNAL_1_2, AR_VDD4 } eAnalogReference;
extern "C" void analogReference(eAnalogReference reference);

typedef enum { NRF_GPIO_PIN_NOPULL = 0, NRF_GPIO_PIN_PULLDOWN = 1, NRF_GPIO_PIN_PULLUP = 3 } nrf_gpio_pin_pull_t;
typedef enum { NRF_GPIO_PIN_NOSENSE = 0, NRF_GPIO_PIN_SENSE_LOW = 3, NRF_GPIO_PIN_SENSE_HIGH = 2 } nrf_gpio_pin_sense_t;
void nrf_gpio_cfg_sense_input(uint32_t pin, nrf_gpio_pin_pull_t pull, nrf_gpio_pin_sense_t sense);
extern const uint32_t g_ADigitalPinMap[];
struct HostSystemOff {
    HostSystemOff &operator=(uint32_t value);
};
struct NRF_POWER_Type {
    HostSystemOff SYSTEMOFF;
};
extern NRF_POWER_Type *NRF_POWER;

class HardwarePWM {
  public:
    void setResolution(uint8_t bits);
    void setMaxValue(uint16_t value);
    void setClockDiv(uint8_t divider);
    bool addPin(uint8_t pin);
    bool writePin(uint8_t pin, uint16_t value, bool inverted = false);
    void begin(void);

  private:
    uint16_t max_ = 0;
    uint8_t divider_ = 0;
};
extern HardwarePWM *HwPWMx[];
#elif defined(ARDUINO_ARCH_ESP32)
extern "C" uint16_t touchRead(uint8_t pin);
#elif defined(ARDUINO_ARCH_MBED)
typedef int PinName;
PinName digitalPinToPinName(pin_size_t pin);
#endif
