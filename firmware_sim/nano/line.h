/* The line to the host, 115200 baud on D0 and D1: whole program messages in, answers out byte by byte. */
#ifndef LINE_H
#define LINE_H

#include <avr/pgmspace.h>
#include <stdbool.h>
#include <stdint.h>

enum { LONGEST_MESSAGE = 400 };

void line_begin(void);

/* The next program message, of `length` bytes, without its LF; -1 when it was longer than the buffer, which is
 * then empty. NULL while none is whole. */
char *line_message(int16_t *length);

void line_put(char letter);
void line_put_text(const char *text);
void line_put_program_text(PGM_P text);
void line_put_number(int32_t number);

/* CRC-32/ISO-HDLC of what is put between the two; `line_put_crc` puts it as ",#H" and eight digits. */
void line_crc_begin(void);
void line_put_crc(void);
uint32_t crc_of(const char *text, uint16_t length);

#endif
