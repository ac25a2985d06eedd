/* Every command of the tester and what it answers. */
#include "cable.h"
#include "line.h"
#include "pins.h"
#include "scpi.h"

enum { LARGEST_TAG = 999999, PIN_FAULT = 1, READS_HIGH_MV = 3000, SCREEN_READS_HIGH_MV = 1000 };

/* --- measured answers: tag, status, fields, and their CRC --- */

static void begin_answer(uint32_t tag, PGM_P word)
{
    scpi_answer();
    line_crc_begin();
    line_put_number(tag);
    line_put(',');
    line_put_program_text(word);
}

static void put_field(int32_t number)
{
    line_put(',');
    line_put_number(number);
}

static void put_count_of(contact_set set)
{
    uint8_t found = 0;
    for (; set; set &= set - 1)
        found++;
    put_field(found);
}

/* Voltages as count, then contact, millivolts, kind: no more is known of one than that it reads as high. */
static void put_voltages(struct voltages seen)
{
    put_count_of(seen.steady | seen.changing);
    for (uint8_t contact = 0; contact < CONTACTS; contact++)
        if ((seen.steady | seen.changing) >> contact & 1) {
            put_field(contact + 1);
            put_field(contact == FAR_SCREEN ? SCREEN_READS_HIGH_MV : READS_HIGH_MV);
            line_put_program_text(seen.steady >> contact & 1 ? PSTR(",DC") : PSTR(",AC"));
        }
}

static void answer_voltages(uint32_t tag, PGM_P word, struct voltages seen)
{
    begin_answer(tag, word);
    put_voltages(seen);
    line_put_crc();
}

static void answer_self_test(uint32_t tag, contact_set wrong)
{
    begin_answer(tag, PSTR("SELFTEST"));
    put_field(PIN_FAULT);
    for (uint8_t contact = 0; contact < CONTACTS; contact++)
        if (wrong >> contact & 1)
            put_field(contact + 1);
    line_put_crc();
}

static void answer_text(uint32_t tag, PGM_P fields)
{
    begin_answer(tag, PSTR("OK,"));
    line_put_program_text(fields);
    line_put_crc();
}

static void features(uint32_t tag)
{
    answer_text(tag, PSTR("CONT,FOREIGN"));
}

static void contacts(uint32_t tag)
{
    answer_text(tag, PSTR("9,9,\"1\",\"2\",\"3\",\"4\",\"5\",\"6\",\"7\",\"8\",\"S\""
                          ",\"1\",\"2\",\"3\",\"4\",\"5\",\"6\",\"7\",\"8\",\"S\""));
}

static void resolution(uint32_t tag)
{
    answer_text(tag, PSTR("10000000")); /* milliohm: all below 10 kohm is joined */
}

static void voltage(uint32_t tag)
{
    lamp(true);
    struct voltages seen = cable_look();
    lamp(false);
    answer_voltages(tag, PSTR("OK"), seen);
}

static void answer_continuity(uint32_t tag)
{
    contact_set rows[CONTACTS], held = 0, wrong;
    struct voltages seen = cable_look();
    if (seen.steady | seen.changing) {
        answer_voltages(tag, PSTR("FOREIGN"), seen);
        return;
    }
    wrong = cable_weigh();
    if (wrong) {
        answer_self_test(tag, wrong);
        return;
    }
    for (uint8_t a = 0; a < CONTACTS; a++)
        rows[a] = cable_joined_to(a, &held);
    if (held) {
        answer_voltages(tag, PSTR("FOREIGN"), (struct voltages){held, 0});
        return;
    }
    begin_answer(tag, PSTR("OK"));
    put_field(CONTACTS);
    for (uint8_t a = 0; a < CONTACTS; a++)
        for (uint8_t b = a + 1; b < CONTACTS; b++)
            put_field(rows[a] >> b & 1);
    line_put_crc();
}

static void continuity(uint32_t tag)
{
    lamp(true);
    answer_continuity(tag);
    lamp(false);
}

/* --- common and system commands --- */

static void answer_number(int32_t number)
{
    scpi_answer();
    line_put_number(number);
}

static void identity(uint32_t none)
{
    (void)none;
    scpi_answer();
    line_put_program_text(PSTR("WIREMAP,BARE-18," SERIAL ",1.0"));
}

static void scpi_version(uint32_t none)
{
    (void)none;
    scpi_answer();
    line_put_program_text(PSTR("1999.0"));
}

static void next_error(uint32_t none)
{
    (void)none;
    scpi_answer();
    scpi_put_oldest_error();
}

static void self_test(uint32_t none)
{
    (void)none;
    struct voltages seen = cable_look();
    if (seen.steady | seen.changing || !cable_weigh()) { /* no pin is tried against a voltage */
        answer_number(0);
        return;
    }
    scpi_error(SELF_TEST_FAILED, (struct text){"1", 1});
    answer_number(PIN_FAULT);
}

static void reset(uint32_t none)
{
    (void)none;
    pins_let_go();
}

static void clear(uint32_t none)
{
    (void)none;
    scpi_clear();
}

static void events(uint32_t none)
{
    (void)none;
    answer_number(status.events);
    status.events = 0;
}

static void enable_events(uint32_t mask)
{
    status.event_enable = mask;
}

static void enabled_events(uint32_t none)
{
    (void)none;
    answer_number(status.event_enable);
}

static void enable_service(uint32_t mask)
{
    status.service_enable = mask;
}

static void enabled_service(uint32_t none)
{
    (void)none;
    answer_number(status.service_enable);
}

static void status_byte(uint32_t none)
{
    (void)none;
    uint8_t value = scpi_errors_wait() ? 4 : 0;
    if (status.events & status.event_enable)
        value |= 32;
    if (value & status.service_enable & ~64)
        value |= 64;
    answer_number(value);
}

static void complete(uint32_t none)
{
    (void)none;
    status.events |= OPERATION_COMPLETE;
}

static void completed(uint32_t none)
{
    (void)none;
    answer_number(1);
}

static void wait(uint32_t none)
{
    (void)none; /* every command is over before the next begins */
}

#define HEADER(name, text) static const char name[] PROGMEM = text
HEADER(FEATURES, "TESTer:FEATures?");
HEADER(CONTACT_NAMES, "TESTer:CONTacts?");
HEADER(RESOLUTION, "TESTer:RESolution?");
HEADER(CONTINUITY, "MEASure:ARRay:CONTinuity?");
HEADER(VOLTAGE, "MEASure:VOLTage?");
HEADER(ERROR, "SYSTem:ERRor?");
HEADER(NEXT_ERROR, "SYSTem:ERRor:NEXT?");
HEADER(SCPI_VERSION, "SYSTem:VERSion?");
HEADER(IDN, "*IDN?");
HEADER(TST, "*TST?");
HEADER(RST, "*RST");
HEADER(CLS, "*CLS");
HEADER(ESR_ASKED, "*ESR?");
HEADER(ESE, "*ESE");
HEADER(ESE_ASKED, "*ESE?");
HEADER(SRE, "*SRE");
HEADER(SRE_ASKED, "*SRE?");
HEADER(STB_ASKED, "*STB?");
HEADER(OPC, "*OPC");
HEADER(OPC_ASKED, "*OPC?");
HEADER(WAI, "*WAI");

const struct command COMMANDS[] PROGMEM = {
    {FEATURES, features, 1, LARGEST_TAG},
    {CONTACT_NAMES, contacts, 1, LARGEST_TAG},
    {RESOLUTION, resolution, 1, LARGEST_TAG},
    {CONTINUITY, continuity, 1, LARGEST_TAG},
    {VOLTAGE, voltage, 1, LARGEST_TAG},
    {ERROR, next_error, 0, 0},
    {NEXT_ERROR, next_error, 0, 0},
    {SCPI_VERSION, scpi_version, 0, 0},
    {IDN, identity, 0, 0},
    {TST, self_test, 0, 0},
    {RST, reset, 0, 0},
    {CLS, clear, 0, 0},
    {ESR_ASKED, events, 0, 0},
    {ESE, enable_events, 0, 255},
    {ESE_ASKED, enabled_events, 0, 0},
    {SRE, enable_service, 0, 255},
    {SRE_ASKED, enabled_service, 0, 0},
    {STB_ASKED, status_byte, 0, 0},
    {OPC, complete, 0, 0},
    {OPC_ASKED, completed, 0, 0},
    {WAI, wait, 0, 0},
    {NULL, NULL, 0, 0},
};
