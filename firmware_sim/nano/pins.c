#include "pins.h"

#include <avr/io.h>
#include <avr/pgmspace.h>

enum { PORT_B, PORT_C, PORT_D };

struct pin {
    uint8_t port;
    uint8_t mask;
};

static const struct pin PINS[DRIVEN] PROGMEM = {
    {PORT_D, 1 << 2}, /* near 1: D2 */
    {PORT_D, 1 << 3}, /* near 2: D3 */
    {PORT_D, 1 << 4}, /* near 3: D4 */
    {PORT_D, 1 << 5}, /* near 4: D5 */
    {PORT_D, 1 << 6}, /* near 5: D6 */
    {PORT_D, 1 << 7}, /* near 6: D7 */
    {PORT_B, 1 << 0}, /* near 7: D8 */
    {PORT_B, 1 << 1}, /* near 8: D9 */
    {PORT_B, 1 << 2}, /* near S: D10 */
    {PORT_B, 1 << 3}, /* far 1: D11 */
    {PORT_B, 1 << 4}, /* far 2: D12 */
    {PORT_C, 1 << 0}, /* far 3: A0 */
    {PORT_C, 1 << 1}, /* far 4: A1 */
    {PORT_C, 1 << 2}, /* far 5: A2 */
    {PORT_C, 1 << 3}, /* far 6: A3 */
    {PORT_C, 1 << 4}, /* far 7: A4 */
    {PORT_C, 1 << 5}, /* far 8: A5 */
};

enum { FAR_SCREEN_INPUT = 7 /* far S: A7 */, LAMP = 1 << 5 /* D13 */ };

static uint8_t mask_of(uint8_t contact)
{
    return pgm_read_byte(&PINS[contact].mask);
}

static volatile uint8_t *input_of(uint8_t contact)
{
    switch (pgm_read_byte(&PINS[contact].port)) {
    case PORT_B:
        return &PINB;
    case PORT_C:
        return &PINC;
    default:
        return &PIND;
    }
}

/* On this chip a port's direction stands one address above its input, its output two. */
static volatile uint8_t *direction_of(uint8_t contact)
{
    return input_of(contact) + 1;
}

static volatile uint8_t *output_of(uint8_t contact)
{
    return input_of(contact) + 2;
}

void pins_begin(void)
{
    pins_let_go();
    DDRB |= LAMP;
    ADMUX = 1 << REFS0 | FAR_SCREEN_INPUT;
    ADCSRA = 1 << ADEN | 1 << ADPS2 | 1 << ADPS1 | 1 << ADPS0;
}

void pin_low(uint8_t contact)
{
    if (contact < DRIVEN) {
        *output_of(contact) &= ~mask_of(contact);
        *direction_of(contact) |= mask_of(contact);
    }
}

void pin_high(uint8_t contact)
{
    if (contact < DRIVEN) {
        pin_low(contact);
        *output_of(contact) |= mask_of(contact);
    }
}

/* One that is high is let go high, through its pull-up for a microsecond or two: it keeps the level that it had. */
void pin_let_go(uint8_t contact)
{
    if (contact < DRIVEN) {
        *direction_of(contact) &= ~mask_of(contact);
        *output_of(contact) &= ~mask_of(contact);
    }
}

bool pin_reads_high(uint8_t contact)
{
    return *input_of(contact) & mask_of(contact);
}

void pins_low_but(uint8_t contact)
{
    for (uint8_t other = 0; other < DRIVEN; other++)
        if (other != contact)
            pin_low(other);
}

void pins_let_go(void)
{
    for (uint8_t contact = 0; contact < DRIVEN; contact++)
        pin_let_go(contact);
}

uint16_t far_screen_counts(void)
{
    uint16_t counts = 0;
    /* The first conversion only charges the converter's capacitor through 68 kohm. */
    for (uint8_t turn = 0; turn < 2; turn++) {
        ADCSRA |= 1 << ADSC;
        while (ADCSRA & 1 << ADSC)
            ;
        counts = ADC;
    }
    return counts;
}

void lamp(bool on)
{
    if (on)
        PORTB |= LAMP;
    else
        PORTB &= ~LAMP;
}
