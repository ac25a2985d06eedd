/* Nodes are the contacts; implicit Euler, with short steps after every change. Contacts are numbered from 0.
 *
 *     C dV/dt + G V = I, so (C/h + G) V(t + h) = C/h V(t) + I
 */
#include "circuit.h"

#include <math.h>
#include <string.h>

#define PULL_UP_OHM 35e3 /* 20 to 50 kohm by the chip's data sheet, from memory */
#define SOCKET_PF 30.0   /* of an empty contact, an assumption */
#define DIODE_VOLT 0.5   /* the pins' own diodes: what is beyond the supply or ground by more flows into the pin */
#define MOST_SOURCES 8

struct source {
    int a, b;
    double siemens, volt, hertz;
};

static double lead, bleed;
static double conductance[CONTACTS][CONTACTS], capacitance[CONTACTS][CONTACTS]; /* of the cable */
static double voltage[CONTACTS], leak[CONTACTS];
static enum drive drives[CONTACTS];
static struct source sources[MOST_SOURCES];
static int source_count;
static int clamp[CONTACTS]; /* -1 below ground, 1 above the supply, 0 neither */
static double solved[CONTACTS][CONTACTS]; /* the inverse of C/h + G */
static double solved_for_us;              /* h; 0 = to be made anew */
static uint64_t now_us, changed_us;
static double peak;

static void changed(void)
{
    changed_us = now_us;
    solved_for_us = 0;
}

static void pair(double matrix[CONTACTS][CONTACTS], int a, int b, double value)
{
    matrix[a][a] += value;
    if (b >= 0) {
        matrix[b][b] += value;
        matrix[a][b] -= value;
        matrix[b][a] -= value;
    }
}

void circuit_begin(double lead_ohm, double bleed_ohm)
{
    lead = lead_ohm;
    bleed = bleed_ohm;
    circuit_empty();
}

void circuit_empty(void)
{
    memset(conductance, 0, sizeof conductance);
    memset(capacitance, 0, sizeof capacitance);
    memset(voltage, 0, sizeof voltage);
    memset(leak, 0, sizeof leak);
    memset(clamp, 0, sizeof clamp);
    for (int contact = 0; contact < CONTACTS; contact++)
        pair(capacitance, contact, -1, SOCKET_PF * 1e-12);
    if (bleed > 0)
        pair(conductance, CONTACTS - 1, -1, 1 / (lead + bleed));
    source_count = 0;
    peak = 0;
    changed();
}

void circuit_join(int a, int b, double ohm)
{
    pair(conductance, a, b, 1 / ohm);
    changed();
}

void circuit_capacitance(int a, int b, double pf)
{
    pair(capacitance, a, b, pf * 1e-12);
    changed();
}

void circuit_source(int a, int b, double ohm, double volt, double hertz)
{
    if (source_count < MOST_SOURCES)
        sources[source_count++] = (struct source){a, b, 1 / ohm, volt, hertz};
    changed();
}

void circuit_leak(int a, double ampere)
{
    leak[a] = ampere;
}

/* Through what a contact's pin pulls it, and to which voltage. */
static double pull(int contact, double *volt)
{
    switch (drives[contact]) {
    case LOW:
        *volt = 0;
        return 1 / lead;
    case HIGH:
        *volt = SUPPLY;
        return 1 / lead;
    case PULLED_UP:
        *volt = SUPPLY;
        return 1 / (lead + PULL_UP_OHM);
    default:
        *volt = clamp[contact] > 0 ? SUPPLY + DIODE_VOLT : -DIODE_VOLT;
        return clamp[contact] ? 1 / lead : 0;
    }
}

static void solve(double step_us)
{
    double work[CONTACTS][CONTACTS], volt;
    for (int a = 0; a < CONTACTS; a++)
        for (int b = 0; b < CONTACTS; b++) {
            work[a][b] = conductance[a][b] + capacitance[a][b] / (step_us * 1e-6);
            solved[a][b] = a == b;
        }
    for (int a = 0; a < CONTACTS; a++)
        work[a][a] += pull(a, &volt) + 1e-12;
    for (int at = 0; at < source_count; at++)
        pair(work, sources[at].a, sources[at].b, sources[at].siemens);
    for (int a = 0; a < CONTACTS; a++) { /* symmetric and positive definite: no pivot is needed */
        double by = 1 / work[a][a];
        for (int b = 0; b < CONTACTS; b++) {
            work[a][b] *= by;
            solved[a][b] *= by;
        }
        for (int row = 0; row < CONTACTS; row++) {
            double times = work[row][a];
            if (row == a || times == 0)
                continue;
            for (int b = 0; b < CONTACTS; b++) {
                work[row][b] -= times * work[a][b];
                solved[row][b] -= times * solved[a][b];
            }
        }
    }
    solved_for_us = step_us;
}

static void watch_pins(void)
{
    for (int contact = 0; contact < CONTACTS; contact++) {
        double volt, siemens = pull(contact, &volt);
        double ampere = fabs(volt - voltage[contact]) * siemens;
        if (!source_count && ampere > peak)
            peak = ampere;
        int beyond = voltage[contact] > SUPPLY + DIODE_VOLT ? 1 : voltage[contact] < -DIODE_VOLT ? -1 : 0;
        if (drives[contact] == LET_GO && beyond != clamp[contact]) {
            clamp[contact] = beyond;
            solved_for_us = 0;
        }
    }
}

static void step(double step_us)
{
    double right[CONTACTS], volt;
    if (solved_for_us != step_us)
        solve(step_us);
    for (int a = 0; a < CONTACTS; a++) {
        right[a] = leak[a];
        right[a] += pull(a, &volt) * volt;
        for (int b = 0; b < CONTACTS; b++)
            right[a] += capacitance[a][b] / (step_us * 1e-6) * voltage[b];
    }
    for (int at = 0; at < source_count; at++) {
        const struct source *from = &sources[at];
        double ampere = from->siemens * from->volt;
        if (from->hertz > 0)
            ampere *= sin(2 * M_PI * from->hertz * (now_us + step_us) * 1e-6);
        right[from->a] += ampere;
        if (from->b >= 0)
            right[from->b] -= ampere;
    }
    for (int a = 0; a < CONTACTS; a++) {
        voltage[a] = 0;
        for (int b = 0; b < CONTACTS; b++)
            voltage[a] += solved[a][b] * right[b];
    }
    now_us += step_us;
    watch_pins();
}

uint32_t circuit_step_us(void)
{
    uint64_t since = now_us - changed_us;
    return since < 60 ? 1 : since < 600 ? 8 : 64;
}

void circuit_to(uint64_t until_us)
{
    while (now_us + circuit_step_us() <= until_us)
        step(circuit_step_us());
}

void circuit_exactly_to(uint64_t until_us)
{
    circuit_to(until_us);
    while (now_us + 8 <= until_us)
        step(8);
    while (now_us < until_us)
        step(1);
}

void circuit_drive(int contact, enum drive drive)
{
    if (drives[contact] != drive) {
        drives[contact] = drive;
        clamp[contact] = 0;
        changed();
    }
}

double circuit_pin(int contact)
{
    double volt = voltage[contact];
    if (drives[contact] == PULLED_UP)
        return volt + (SUPPLY - volt) * lead / (lead + PULL_UP_OHM);
    return volt;
}

double circuit_listened(void)
{
    double volt = voltage[CONTACTS - 1] * bleed / (lead + bleed);
    return volt < 0 ? 0 : volt > SUPPLY ? SUPPLY : volt;
}

double circuit_peak_ampere(void)
{
    return peak;
}
