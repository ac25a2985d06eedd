// prints which wire goes where
#include "arduino.h"

static const uint8_t A_SIDE[8] = {2, 3, 4, 5, 6, 7, 8, 9};
static const uint8_t B_SIDE[8] = {10, 11, 12, A0, A1, A2, A3, A4};

void setup()
{
    serial_begin(115200);
    for (uint8_t pin = 0; pin < 8; pin++)
        pinMode(B_SIDE[pin], INPUT_PULLUP);
}

void loop()
{
    print("scan\r\n");
    for (uint8_t a = 0; a < 8; a++) {
        pinMode(A_SIDE[a], OUTPUT);
        digitalWrite(A_SIDE[a], LOW);
        delay(1);
        for (uint8_t b = 0; b < 8; b++) {
            if (digitalRead(B_SIDE[b]) == LOW) {
                print_number(a, 10);
                print(" -> ");
                print_number(b, 10);
                print("\r\n");
            }
        }
        pinMode(A_SIDE[a], INPUT);
    }
    delay(200);
}
