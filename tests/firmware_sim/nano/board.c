/* An ATmega328P board in simavr with a cable between its pins: its serial line on a TCP port of the loopback.
 *
 *     board PROGRAM.elf PINS LEAD_OHM BLEED_OHM THRESHOLD_MV PACE BOOT_MS
 *
 * PINS: the pins of contacts 1 to 18, as D2,..,A7; "-" has none; A6 and A7 are only listened to.
 * BLEED_OHM: from the last contact's pin to ground where that is listened to, 0 = none.
 * PACE: 1 = as fast as the chip, 0 = as fast as may be. BOOT_MS: how long it is deaf after a connection resets it, 0 = no reset.
 * Standard output begins with the address. Orders come on standard input, a line each, each answered by a line:
 * empty | join A B OHM | capacitance A B PF | source A B OHM MV HZ | leak A NA | stuck A low|high|free | hang | report
 * hurt SHARE SEED: of the bytes from now on, either way, that share is lost or has a bit flipped; each as often
 * (contacts from 1; B = 0 is ground). It ends when standard input closes.
 */
#include "circuit.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <simavr/avr_adc.h>
#include <simavr/avr_ioport.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_avr.h>
#include <simavr/sim_elf.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#define CYCLES_PER_US 16
#define BYTE_US 87       /* at 115200 baud */
#define QUIET_US 50000   /* so long without a change: it waits for a question */
#define LAST_RESORT 0xCFFF /* rjmp to itself */

struct place {
    char port; /* 0: none, 'A': only listened to */
    int bit;
};

static avr_t *avr;
static struct place places[CONTACTS];
static avr_irq_t *inputs[CONTACTS];
static int shown[CONTACTS]; /* what the chip's converter was last given there, -1 = nothing */
static uint8_t direction[3], output[3]; /* of ports B, C, D */
static int stuck[CONTACTS];             /* 1 + level, 0 = free */
static double threshold;
static uint64_t active_us;
static int written_to;
static int most_high, most_low_beside_high, most_pulled_up, changes;
static int listening, connected = -1;
static char sending[1 << 16];
static size_t unsent;
static uint8_t incoming[1 << 12];
static size_t incoming_count, incoming_at;
static uint64_t next_byte_us;
static int full; /* simavr's own queue before the chip's serial line */
static int boot_ms;
static double hurt_share;
static uint64_t hurt_state;
static int hurt_bytes;
static uint16_t hung_word;
static uint32_t hung_at;

static uint64_t now_us(void)
{
    return avr->cycle / CYCLES_PER_US;
}

static double wall_ms(void)
{
    struct timespec at;
    clock_gettime(CLOCK_MONOTONIC, &at);
    return at.tv_sec * 1e3 + at.tv_nsec / 1e6;
}

/* --- pins --- */

static enum drive drive_of(struct place place)
{
    int bank = place.port - 'B';
    if (place.port < 'B')
        return LET_GO;
    int out = direction[bank] >> place.bit & 1, high = output[bank] >> place.bit & 1;
    return out ? (high ? HIGH : LOW) : high ? PULLED_UP : LET_GO;
}

static void note_drives(void)
{
    int high = 0, low = 0, pulled_up = 0;
    for (int contact = 0; contact < CONTACTS; contact++) {
        enum drive drive = drive_of(places[contact]);
        high += drive == HIGH;
        low += drive == LOW;
        pulled_up += drive == PULLED_UP;
        circuit_drive(contact, drive);
    }
    most_high = high > most_high ? high : most_high;
    if (high && low > most_low_beside_high)
        most_low_beside_high = low;
    most_pulled_up = pulled_up > most_pulled_up ? pulled_up : most_pulled_up;
    changes++;
}

static void written(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq;
    circuit_exactly_to(now_us());
    *(uint8_t *)param = value;
    note_drives();
    active_us = now_us();
    written_to = 1; /* the pins are looked at before the program goes on */
    avr->run_cycle_count = 0;
}

/* What the chip would read: simavr sets a pulled-up pin high with every write to its port, even of what is there. */
static int chip_has(struct place place)
{
    enum { PINB_ADDRESS = 0x23, PORT_ADDRESSES = 3 };
    return avr->data[PINB_ADDRESS + PORT_ADDRESSES * (place.port - 'B')] >> place.bit & 1;
}

static void show_pins(void)
{
    for (int contact = 0; contact < CONTACTS; contact++) {
        enum drive drive = drive_of(places[contact]);
        int level;
        if (!inputs[contact] || drive == LOW || drive == HIGH)
            continue;
        if (places[contact].port == 'A')
            level = circuit_listened() * 1000;
        else
            level = stuck[contact] ? stuck[contact] - 1 : circuit_pin(contact) > threshold;
        if (level != (places[contact].port == 'A' ? shown[contact] : chip_has(places[contact])))
            avr_raise_irq(inputs[contact], level);
        shown[contact] = level;
    }
}

static void connect_pins(void)
{
    for (int contact = 0; contact < CONTACTS; contact++) {
        struct place place = places[contact];
        if (place.port == 'A')
            inputs[contact] = avr_io_getirq(avr, AVR_IOCTL_ADC_GETIRQ, ADC_IRQ_ADC0 + place.bit);
        else if (place.port)
            inputs[contact] = avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ(place.port), place.bit);
        shown[contact] = -1;
    }
}

static void find_places(char *names)
{
    int contact = 0;
    for (char *name = strtok(names, ","); name && contact < CONTACTS; name = strtok(NULL, ","), contact++) {
        int number = atoi(name + 1);
        struct place *place = &places[contact];
        if (name[0] == 'D')
            *place = number < 8 ? (struct place){'D', number} : (struct place){'B', number - 8};
        else if (name[0] == 'A')
            *place = number < 6 ? (struct place){'C', number} : (struct place){'A', number};
    }
}

/* --- the line --- */

static uint32_t chance(void) /* xorshift64*, Vigna 2016 (from memory) */
{
    hurt_state ^= hurt_state >> 12;
    hurt_state ^= hurt_state << 25;
    hurt_state ^= hurt_state >> 27;
    return hurt_state * 2685821657736338717ULL >> 32;
}

static int hurt(int byte) /* -1: lost */
{
    if (hurt_share <= 0 || chance() / 4294967296.0 >= hurt_share)
        return byte;
    hurt_bytes++;
    return chance() & 1 ? -1 : byte ^ 1 << (chance() >> 29);
}

static void sent(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq;
    (void)param;
    active_us = now_us();
    int byte = hurt(value);
    if (byte >= 0 && connected >= 0 && unsent < sizeof sending)
        sending[unsent++] = byte;
}

static void flow(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq;
    if (value)
        full = param != NULL;
}

static void hang_up(void)
{
    close(connected);
    connected = -1;
    unsent = incoming_count = incoming_at = 0;
}

static void accept_one(void)
{
    int on = 1;
    if (connected >= 0 || (connected = accept(listening, NULL, NULL)) < 0)
        return;
    setsockopt(connected, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
    fcntl(connected, F_SETFL, O_NONBLOCK);
    if (boot_ms) { /* opening the port resets the chip, and its loader is deaf for a while */
        char lost[4096];
        memset(direction, 0, sizeof direction);
        memset(output, 0, sizeof output);
        note_drives();
        usleep(boot_ms * 1000);
        while (read(connected, lost, sizeof lost) > 0)
            ;
        avr_reset(avr);
    }
}

static void exchange(int wait_ms)
{
    struct pollfd ends[2] = {{listening, POLLIN, 0}, {connected, POLLIN, 0}};
    if (unsent) {
        ssize_t gone = connected < 0 ? (ssize_t)unsent : write(connected, sending, unsent);
        if (gone > 0) {
            memmove(sending, sending + gone, unsent - gone);
            unsent -= gone;
        }
    }
    if (poll(ends, connected < 0 ? 1 : 2, wait_ms) <= 0)
        return;
    if (ends[0].revents)
        accept_one();
    if (connected >= 0 && ends[1].fd == connected && ends[1].revents && incoming_at == incoming_count) {
        ssize_t got = read(connected, incoming, sizeof incoming);
        incoming_at = incoming_count = 0;
        if (got > 0)
            incoming_count = got;
        else
            hang_up();
    }
}

static void feed(void)
{
    if (incoming_at < incoming_count && !full && now_us() >= next_byte_us) {
        int byte = hurt(incoming[incoming_at++]);
        if (byte >= 0)
            avr_raise_irq(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT), byte);
        next_byte_us = now_us() + BYTE_US;
        active_us = now_us();
    }
}

static void listen_on_loopback(void)
{
    struct sockaddr_in at = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    socklen_t size = sizeof at;
    listening = socket(AF_INET, SOCK_STREAM, 0);
    if (bind(listening, (struct sockaddr *)&at, sizeof at) || listen(listening, 1)
        || getsockname(listening, (struct sockaddr *)&at, &size)) {
        perror("board");
        exit(1);
    }
    fcntl(listening, F_SETFL, O_NONBLOCK);
    printf("socket://127.0.0.1:%d\n", ntohs(at.sin_port));
    fflush(stdout);
}

/* --- orders --- */

static void hang(void)
{
    hung_at = avr->pc;
    memcpy(&hung_word, avr->flash + hung_at, 2);
    avr->flash[hung_at] = LAST_RESORT & 255;
    avr->flash[hung_at + 1] = LAST_RESORT >> 8;
}

static void report(void)
{
    int driven = 0;
    for (int contact = 0; contact < CONTACTS; contact++)
        driven += drive_of(places[contact]) != LET_GO;
    printf("changes %d high %d low-beside-high %d pulled-up %d peak-na %.0f driven %d hurt %d at-us %llu\n", changes, most_high,
           most_low_beside_high, most_pulled_up, circuit_peak_ampere() * 1e9, driven, hurt_bytes, (unsigned long long)now_us());
}

static int obey(char *order)
{
    int a = 0, b = 0;
    double x = 0, y = 0, z = 0;
    char word[16] = "";
    if (!strncmp(order, "empty", 5)) {
        circuit_empty();
    } else if (sscanf(order, "join %d %d %lf", &a, &b, &x) == 3) {
        circuit_join(a - 1, b - 1, x);
    } else if (sscanf(order, "capacitance %d %d %lf", &a, &b, &x) == 3) {
        circuit_capacitance(a - 1, b - 1, x);
    } else if (sscanf(order, "source %d %d %lf %lf %lf", &a, &b, &x, &y, &z) == 5) {
        circuit_source(a - 1, b - 1, x, y / 1000, z);
    } else if (sscanf(order, "leak %d %lf", &a, &x) == 2) {
        circuit_leak(a - 1, x * 1e-9);
    } else if (sscanf(order, "stuck %d %15s", &a, word) == 2) {
        stuck[a - 1] = !strcmp(word, "high") ? 2 : !strcmp(word, "low") ? 1 : 0;
    } else if (sscanf(order, "hurt %lf %d", &x, &a) == 2) {
        hurt_share = x;
        hurt_state = 0x9E3779B97F4A7C15ULL ^ a;
    } else if (!strncmp(order, "hang", 4)) {
        hang();
    } else if (!strncmp(order, "report", 6)) {
        report();
        fflush(stdout);
        return 1;
    } else {
        printf("unknown: %s", order);
        fflush(stdout);
        return 1;
    }
    printf("done\n");
    fflush(stdout);
    return 1;
}

static int orders(void)
{
    static char line[256];
    static size_t length;
    struct pollfd in = {0, POLLIN, 0};
    while (poll(&in, 1, 0) > 0) {
        if (read(0, line + length, 1) <= 0)
            return 0;
        if (line[length++] == '\n' || length == sizeof line - 1) {
            line[length] = 0;
            length = 0;
            obey(line);
        }
    }
    return 1;
}

/* --- */

static void no_sleep(avr_t *chip, avr_cycle_count_t cycles)
{
    (void)chip;
    (void)cycles;
}

static void begin(const char *program)
{
    elf_firmware_t firmware = {0};
    uint32_t flags = 0;
    if (elf_read_firmware(program, &firmware) || !(avr = avr_make_mcu_by_name("atmega328p"))) {
        fprintf(stderr, "board: %s cannot be loaded\n", program);
        exit(1);
    }
    avr_init(avr);
    avr->log = LOG_ERROR;
    avr_load_firmware(avr, &firmware);
    avr->frequency = CYCLES_PER_US * 1000000;
    avr->vcc = avr->avcc = avr->aref = 5000;
    avr->sleep = no_sleep;
    avr_ioctl(avr, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), sent, NULL);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUT_XON), flow, NULL);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUT_XOFF), flow, &full);
    for (int bank = 0; bank < 3; bank++) {
        uint32_t port = AVR_IOCTL_IOPORT_GETIRQ('B' + bank);
        avr_irq_register_notify(avr_io_getirq(avr, port, IOPORT_IRQ_DIRECTION_ALL), written, &direction[bank]);
        avr_irq_register_notify(avr_io_getirq(avr, port, IOPORT_IRQ_REG_PORT), written, &output[bank]);
    }
}

int main(int count, char **given)
{
    uint64_t looked_us = 0;
    double began = wall_ms();
    if (count != 8) {
        fprintf(stderr, "usage: board PROGRAM.elf PINS LEAD_OHM BLEED_OHM THRESHOLD_MV PACE BOOT_MS\n");
        return 2;
    }
    find_places(given[2]);
    circuit_begin(atof(given[3]), atof(given[4]));
    threshold = atof(given[5]) / 1000;
    int real = atoi(given[6]);
    boot_ms = atoi(given[7]);
    begin(given[1]);
    connect_pins();
    listen_on_loopback();
    for (;;) {
        int state = cpu_Running;
        avr_cycle_count_t until = avr->cycle + circuit_step_us() * CYCLES_PER_US;
        written_to = 0;
        while (avr->cycle < until && !written_to && state != cpu_Crashed && state != cpu_Done)
            state = avr_run(avr);
        if (hung_word && state != cpu_Crashed && avr->pc != hung_at) { /* the watchdog ended it */
            memcpy(avr->flash + hung_at, &hung_word, 2);
            hung_word = 0;
        }
        circuit_to(now_us());
        show_pins();
        feed();
        if (now_us() - looked_us < 1000)
            continue;
        looked_us = now_us();
        double ahead = looked_us / 1000.0 - (wall_ms() - began);
        exchange(real ? (ahead > 1 ? (int)ahead : 0) : now_us() - active_us > QUIET_US && !hung_word ? 2 : 0);
        if (!orders())
            return 0;
        if (state == cpu_Crashed || state == cpu_Done) {
            fprintf(stderr, "board: the chip stopped\n");
            return 1;
        }
    }
}
