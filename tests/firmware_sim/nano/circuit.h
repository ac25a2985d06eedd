/* The contacts of a tester and the cable between them, as voltages that move in time. */
#ifndef CIRCUIT_H
#define CIRCUIT_H

#include <stdbool.h>
#include <stdint.h>

#define CONTACTS 18
#define SUPPLY 5.0

enum drive { LET_GO, LOW, HIGH, PULLED_UP };

void circuit_begin(double lead_ohm, double bleed_ohm);
void circuit_empty(void); /* nothing in the sockets */
void circuit_join(int a, int b, double ohm);
void circuit_capacitance(int a, int b, double pf); /* b < 0: to ground; added to what is there */
void circuit_source(int a, int b, double ohm, double volt, double hertz); /* b < 0: against ground */
void circuit_leak(int a, double ampere);
void circuit_drive(int contact, enum drive drive);
void circuit_to(uint64_t now_us); /* lets the time pass, but for less than a step */
void circuit_exactly_to(uint64_t now_us); /* before something changes */
uint32_t circuit_step_us(void);   /* how long until voltages are to be looked at again */
double circuit_pin(int contact);  /* the voltage at the chip's pin */
double circuit_listened(void);    /* at the analogue pin that the last contact leads to */
double circuit_peak_ampere(void); /* the most that ever went through a lead while no source was there */

#endif
