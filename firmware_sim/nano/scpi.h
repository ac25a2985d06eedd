/* Program messages after IEEE 488.2 and SCPI-1999: headers, parameters, the error queue and the status bits. */
#ifndef SCPI_H
#define SCPI_H

#include <avr/pgmspace.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum error {
    NO_ERROR = 0,
    INVALID_CHARACTER = -101,
    DATA_TYPE = -104,
    NOT_ALLOWED = -108,
    MISSING = -109,
    UNDEFINED_HEADER = -113,
    PARAMETER_ERROR = -220,
    OUT_OF_RANGE = -222,
    SELF_TEST_FAILED = -330,
    QUEUE_OVERFLOW = -350,
    BUFFER_OVERRUN = -363
};

enum { OPERATION_COMPLETE = 1, POWER_ON = 128 };

/* Part of the message buffer; not ended by a zero. */
struct text {
    const char *at;
    uint16_t length;
};

struct command {
    PGM_P header; /* as "MEASure:ARRay:CONTinuity?": capitals are the short form */
    void (*run)(uint32_t parameter);
    uint32_t low, high; /* of its parameter; high = 0: it takes none */
};

extern const struct command COMMANDS[] PROGMEM; /* ends with a header of NULL */

struct status {
    uint8_t events, event_enable, service_enable;
};

extern struct status status;

/* Carries out a program message; the answers of its queries stand on one line, joined by semicolons. */
void scpi_obey(char *message, uint16_t length);

/* To be called once before whatever a query puts on the line. */
void scpi_answer(void);

void scpi_error(enum error number, struct text found);
void scpi_clear(void);
bool scpi_errors_wait(void);
void scpi_put_oldest_error(void);

#endif
