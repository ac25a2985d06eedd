/* The bare tester on an ATmega328P: asked over its serial line, it measures and answers; it says nothing unasked. */
#include "line.h"
#include "pins.h"
#include "scpi.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/wdt.h>

/* A program that stops lets go of everything within 4 s and starts again. It is an interrupt and no reset, since
 * the loaders of older boards do not survive a reset by the watchdog. */
ISR(WDT_vect, ISR_NAKED)
{
    PORTB = 0;
    PORTC = 0;
    PORTD = 0;
    DDRB = 0;
    DDRC = 0;
    DDRD = 0;
    __asm__ __volatile__("jmp 0");
}

static void watch_over(void)
{
    cli();
    wdt_reset();
    MCUSR = 0;
    WDTCSR = 1 << WDCE | 1 << WDE;
    WDTCSR = 1 << WDIE | 1 << WDP3; /* 4 s */
    sei();
}

int main(void)
{
    watch_over();
    pins_begin();
    line_begin();
    for (;;) {
        int16_t length;
        char *message = line_message(&length);
        wdt_reset();
        if (!message)
            continue;
        if (length < 0)
            scpi_error(BUFFER_OVERRUN, (struct text){"", 0});
        else
            scpi_obey(message, length);
    }
}
