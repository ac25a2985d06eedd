// cable tester v1 - pull ups, so 0 means connected!!
#include "arduino.h"

int nearPins[] = {2, 3, 4, 5, 6, 7, 8, 9};
int farPins[] = {10, 11, 12, A0, A1, A2, A3, A4};

void setup()
{
    serial_begin(9600);
    print("cable tester\r\n");
}

void loop()
{
    for (int i = 0; i < 8; i++) {
        for (int j = 0; j < 8; j++) {
            pinMode(nearPins[j], INPUT_PULLUP);
            pinMode(farPins[j], INPUT_PULLUP);
        }
        digitalWrite(nearPins[i], LOW);
        pinMode(nearPins[i], OUTPUT);
        delay(1);
        for (int j = 0; j < 8; j++) {
            print(digitalRead(farPins[j]) ? "1" : "0");
            print(j < 7 ? " " : "\r\n");
        }
    }
    print("\r\n");
    delay(300);
}
