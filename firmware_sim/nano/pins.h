/* The contacts at their pins. Contacts are numbered from 0 here, from 1 on the line: near 1-8, S, far 1-8, S.
 *
 * Each lies behind 68 kohm. Far S is at A7, which can only be listened to, with 1 Mohm from A7 to ground;
 * every other contact is low, high, or let go. */
#ifndef PINS_H
#define PINS_H

#include <stdbool.h>
#include <stdint.h>

enum { CONTACTS = 18, DRIVEN = 17, FAR_SCREEN = 17 };

void pins_begin(void);
void pin_low(uint8_t contact);
void pin_high(uint8_t contact);
void pin_let_go(uint8_t contact);
bool pin_reads_high(uint8_t contact);
void pins_low_but(uint8_t contact); /* CONTACTS: all */
void pins_let_go(void);
uint16_t far_screen_counts(void); /* 0 to 1023, in parts of the supply */
void lamp(bool on);

#endif
