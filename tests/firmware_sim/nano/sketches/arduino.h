/* As much of what hobbyists write sketches with as three of them need. */
#ifndef ARDUINO_H
#define ARDUINO_H

#include <avr/io.h>
#include <stdint.h>
#include <util/delay.h>

enum { INPUT, OUTPUT, INPUT_PULLUP };
enum { LOW, HIGH };
enum { A0 = 14, A1, A2, A3, A4, A5 };

#define delay(ms) _delay_ms(ms)

void pinMode(uint8_t pin, uint8_t mode);
void digitalWrite(uint8_t pin, uint8_t level);
uint8_t digitalRead(uint8_t pin);
void serial_begin(uint32_t baud);
void print(const char *text);
void print_number(uint16_t number, uint8_t base);
void setup(void);
void loop(void);

#endif
