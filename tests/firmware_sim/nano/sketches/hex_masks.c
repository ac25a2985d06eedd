// one byte per pin, bit 0 = first pin of the other plug
#include "arduino.h"

#define PINS 8

uint8_t out_pin(uint8_t n) { return n + 2; }
uint8_t in_pin(uint8_t n) { return n < 3 ? n + 10 : n - 3 + A0; }

void setup(void)
{
    serial_begin(57600);
    for (uint8_t n = 0; n < PINS; n++) {
        pinMode(out_pin(n), INPUT_PULLUP);
        pinMode(in_pin(n), INPUT_PULLUP);
    }
}

void loop(void)
{
    for (uint8_t n = 0; n < PINS; n++) {
        uint8_t seen = 0;
        digitalWrite(out_pin(n), LOW);
        pinMode(out_pin(n), OUTPUT);
        delay(2);
        for (uint8_t m = 0; m < PINS; m++)
            if (!digitalRead(in_pin(m)))
                seen |= 1 << m;
        pinMode(out_pin(n), INPUT_PULLUP);
        print_number(n + 1, 10);
        print(seen < 16 ? ": 0x0" : ": 0x");
        print_number(seen, 16);
        print("\n");
    }
    print("----\n");
    delay(250);
}
