/* What is joined, and whether something outside holds a contact up. */
#ifndef CABLE_H
#define CABLE_H

#include <stdint.h>

typedef uint32_t contact_set; /* bit 0 is the first contact */

struct voltages {
    contact_set steady;   /* high whenever looked at */
    contact_set changing; /* high now and then */
};

/* Looks at every contact in turn while all others are held low; nothing is high. */
struct voltages cable_look(void);

/* Finds how fast each contact rises, which `cable_joined_to` needs; returns those whose pin does not keep what it was
 * given: a broken pin, a short on the board. Only after a look that saw nothing. */
contact_set cable_weigh(void);

/* Row a of what is joined: bit b, b > a. `held` gets what is high though a is low: something outside holds it. */
contact_set cable_joined_to(uint8_t a, contact_set *held);

#endif
