#include "arduino.h"

#include <stdlib.h>

static volatile uint8_t *input(uint8_t pin)
{
    return pin < 8 ? &PIND : pin < 14 ? &PINB : &PINC;
}

static uint8_t mask(uint8_t pin)
{
    return 1 << (pin < 8 ? pin : pin < 14 ? pin - 8 : pin - 14);
}

void pinMode(uint8_t pin, uint8_t mode)
{
    volatile uint8_t *direction = input(pin) + 1, *output = input(pin) + 2;
    if (mode == OUTPUT) {
        *direction |= mask(pin);
        return;
    }
    *direction &= ~mask(pin);
    if (mode == INPUT_PULLUP)
        *output |= mask(pin);
    else
        *output &= ~mask(pin);
}

void digitalWrite(uint8_t pin, uint8_t level)
{
    volatile uint8_t *output = input(pin) + 2;
    if (level)
        *output |= mask(pin);
    else
        *output &= ~mask(pin);
}

uint8_t digitalRead(uint8_t pin)
{
    return (*input(pin) & mask(pin)) != 0;
}

void serial_begin(uint32_t baud)
{
    UBRR0 = F_CPU / 8 / baud - 1;
    UCSR0A = 1 << U2X0;
    UCSR0B = 1 << TXEN0;
}

void print(const char *text)
{
    for (; *text; text++) {
        while (!(UCSR0A & 1 << UDRE0))
            ;
        UDR0 = *text;
    }
}

void print_number(uint16_t number, uint8_t base)
{
    char digits[18];
    print(utoa(number, digits, base));
}

int main(void)
{
    setup();
    for (;;)
        loop();
}
