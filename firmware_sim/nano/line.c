#include "line.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <stdlib.h>

enum { RING = 128 }; /* what arrives while an answer is made; more is lost, and the check value tells */

static volatile char ring[RING];
static volatile uint8_t ring_end;
static volatile uint8_t ring_start;
static char message[LONGEST_MESSAGE];
static uint16_t received;
static bool overrun;
static uint32_t sum;

void line_begin(void)
{
    UBRR0 = F_CPU / 8 / 115200 - 1;
    UCSR0A = 1 << U2X0;
    UCSR0B = 1 << RXCIE0 | 1 << RXEN0 | 1 << TXEN0;
    UCSR0C = 1 << UCSZ01 | 1 << UCSZ00;
}

ISR(USART_RX_vect)
{
    char letter = UDR0;
    uint8_t next = (ring_end + 1) % RING;
    if (next != ring_start) {
        ring[ring_end] = letter;
        ring_end = next;
    }
}

char *line_message(int16_t *length)
{
    while (ring_start != ring_end) {
        char letter = ring[ring_start];
        ring_start = (ring_start + 1) % RING;
        if (letter == '\n') {
            *length = overrun ? -1 : (int16_t)received;
            received = 0;
            overrun = false;
            return message;
        }
        if (received < LONGEST_MESSAGE)
            message[received++] = letter;
        else
            overrun = true;
    }
    return NULL;
}

static uint32_t crc_with(uint32_t so_far, uint8_t byte)
{
    so_far ^= byte;
    for (uint8_t bit = 0; bit < 8; bit++)
        so_far = so_far & 1 ? so_far >> 1 ^ 0xEDB88320UL : so_far >> 1;
    return so_far;
}

uint32_t crc_of(const char *text, uint16_t length)
{
    uint32_t found = 0xFFFFFFFFUL;
    for (uint16_t at = 0; at < length; at++)
        found = crc_with(found, text[at]);
    return ~found;
}

void line_put(char letter)
{
    sum = crc_with(sum, letter);
    while (!(UCSR0A & 1 << UDRE0))
        ;
    UDR0 = letter;
}

void line_put_text(const char *text)
{
    while (*text)
        line_put(*text++);
}

void line_put_program_text(PGM_P text)
{
    char letter;
    while ((letter = pgm_read_byte(text++)))
        line_put(letter);
}

void line_put_number(int32_t number)
{
    char digits[12];
    line_put_text(ltoa(number, digits, 10));
}

void line_crc_begin(void)
{
    sum = 0xFFFFFFFFUL;
}

void line_put_crc(void)
{
    uint32_t found = ~sum;
    line_put_program_text(PSTR(",#H"));
    for (int8_t shift = 28; shift >= 0; shift -= 4)
        line_put("0123456789ABCDEF"[found >> shift & 15]);
}
