/* Joined or not, by letting go: contact a is high, b is held low, all others are let go; then b is let go and read.
 *
 * Nothing moves when b is let go. One that is joined to a stands at half the supply at once and rises from there; one
 * that is not stays at 0 V, whatever the capacitance between them. How fast either rises goes with the capacitance of
 * the conductor, so the moment to read is told by the conductor itself: by the time in which its own 68 kohm lift it
 * from 0 V to what reads as high. What is joined to a through 10 kohm is there in 0.4 of that, through 200 kohm in 3
 * times, through 1 Mohm in 15 times. What reads high is read again with a low: nothing joined to it can be high then.
 *
 * Far S cannot be held low. 1 Mohm does it; so it is waited for until what the step of a coupled into it is gone. */
#include "cable.h"

#include "pins.h"

#include <avr/wdt.h>
#include <stdbool.h>
#include <util/delay.h>

enum {
    LOOKS = 21,          /* 1 ms each: a whole period of 50 or 60 Hz */
    SCREEN_ALIEN = 205,  /* far S: 1 V */
    SCREEN_OPEN = 205,   /* far S has come down to 1 V: it is not held up */
    SCREEN_JOINED = 798, /* far S: 3.9 V, between 10 kohm (4.36 V) and 200 kohm (3.74 V) */
    SCREEN_WAIT = 10,    /* 2 ms each: what 1 Mohm and 20 nF, 90 m of foil, take to come down */
    LONGEST_US = 2048,   /* own time of 30 nF */
    HOLD = 8,            /* own times to bring a contact down that alone was lifted: to less than 1 % */
    PIN_US = 3           /* until a pin that was let go shows what its contact stands at: 68 kohm and 10 pF, 4 times */
};

static uint16_t own_us[DRIVEN]; /* in which a contact's own 68 kohm lift it to what reads as high */

/* Five times 68 kohm and 6 nF, a conductor of 90 m; and enough for what a stepped into 20 nF of foil. */
static void settle(void)
{
    wdt_reset();
    _delay_ms(2);
}

static void wait_us(uint16_t us)
{
    while (us--)
        _delay_us(1);
}

static void bring_down(void)
{
    pins_low_but(CONTACTS);
    settle();
    pins_let_go();
}

struct voltages cable_look(void)
{
    struct voltages seen = {0, 0};
    for (uint8_t contact = 0; contact < CONTACTS; contact++) {
        uint8_t high = 0;
        pins_low_but(contact);
        settle();
        for (uint8_t turn = 0; turn < LOOKS; turn++) {
            /* Held low in between: what leaks into a pin by itself needs longer than 0.9 ms to lift it. */
            pin_low(contact);
            _delay_us(100);
            pin_let_go(contact);
            _delay_us(900);
            high += contact == FAR_SCREEN ? far_screen_counts() > SCREEN_ALIEN : pin_reads_high(contact);
            wdt_reset();
        }
        if (high == LOOKS)
            seen.steady |= (contact_set)1 << contact;
        else if (high)
            seen.changing |= (contact_set)1 << contact;
    }
    pins_let_go();
    return seen;
}

/* Whether a contact reads high after so long a drive from 0 V; it was never driven for longer before. */
static bool lifted_in(uint8_t contact, uint16_t us)
{
    wdt_reset();
    pin_low(contact);
    wait_us(HOLD * us);
    pin_high(contact);
    wait_us(us);
    pin_let_go(contact);
    wait_us(PIN_US);
    return pin_reads_high(contact);
}

contact_set cable_weigh(void)
{
    contact_set wrong = 0;
    for (uint8_t contact = 0; contact < DRIVEN; contact++) {
        uint16_t us = 1;
        bool lifted;
        bring_down();
        while (!(lifted = lifted_in(contact, us)) && us < LONGEST_US)
            us *= 2;
        if (us > 2 && lifted_in(contact, us - us / 4))
            us -= us / 4;
        own_us[contact] = us;
        pin_low(contact);
        wait_us(HOLD * us);
        pin_let_go(contact);
        wait_us(PIN_US);
        if (!lifted || pin_reads_high(contact))
            wrong |= (contact_set)1 << contact;
    }
    bring_down();
    return wrong;
}

static bool screen_follows(void)
{
    for (uint8_t turn = 0; turn < SCREEN_WAIT; turn++) {
        settle();
        if (far_screen_counts() < SCREEN_OPEN)
            return false;
    }
    return far_screen_counts() >= SCREEN_JOINED;
}

static bool rises(uint8_t contact)
{
    if (contact == FAR_SCREEN)
        return screen_follows();
    pin_low(contact);
    settle();
    pin_let_go(contact);
    wait_us(own_us[contact] + own_us[contact] / 4);
    return pin_reads_high(contact);
}

contact_set cable_joined_to(uint8_t a, contact_set *held)
{
    contact_set joined = 0;
    if (a >= DRIVEN)
        return 0;
    pin_high(a);
    settle();
    for (uint8_t b = a + 1; b < CONTACTS; b++)
        if (rises(b))
            joined |= (contact_set)1 << b;
    pin_low(a);
    settle();
    for (uint8_t b = a + 1; b < CONTACTS; b++)
        if (joined >> b & 1 && rises(b))
            *held |= (contact_set)1 << b;
    pins_let_go();
    return joined;
}
