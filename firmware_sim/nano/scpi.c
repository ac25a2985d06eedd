#include "scpi.h"

#include "line.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

enum { LONGEST_QUEUE = 16, LONGEST_FOUND = 40, LONGEST_HEADER = 48, CRC_LENGTH = 10, MOST_DIGITS = 12 };

struct queued {
    int16_t number;
    uint8_t length;
    char found[LONGEST_FOUND];
};

struct status status = {POWER_ON, 0, 0};

static struct queued queue[LONGEST_QUEUE];
static uint8_t queued;
static bool answered;

static const struct text NOTHING = {"", 0};

/* --- errors --- */

static PGM_P text_of(int16_t number)
{
    switch (number) {
    case INVALID_CHARACTER:
        return PSTR("Invalid character");
    case DATA_TYPE:
        return PSTR("Data type error");
    case NOT_ALLOWED:
        return PSTR("Parameter not allowed");
    case MISSING:
        return PSTR("Missing parameter");
    case UNDEFINED_HEADER:
        return PSTR("Undefined header");
    case PARAMETER_ERROR:
        return PSTR("Parameter error");
    case OUT_OF_RANGE:
        return PSTR("Data out of range");
    case SELF_TEST_FAILED:
        return PSTR("Self-test failed");
    case QUEUE_OVERFLOW:
        return PSTR("Queue overflow");
    case BUFFER_OVERRUN:
        return PSTR("Input buffer overrun");
    default:
        return PSTR("No error");
    }
}

void scpi_error(enum error number, struct text found)
{
    status.events |= number <= -300 ? 8 : number <= -200 ? 16 : 32; /* IEEE 488.2, 11.5.1: device, execution, command */
    if (queued == LONGEST_QUEUE) {
        queue[LONGEST_QUEUE - 1] = (struct queued){QUEUE_OVERFLOW, 0, ""};
        return;
    }
    struct queued *last = &queue[queued++];
    last->number = number;
    last->length = found.length < LONGEST_FOUND ? found.length : LONGEST_FOUND;
    memcpy(last->found, found.at, last->length);
}

void scpi_clear(void)
{
    queued = 0;
    status.events = 0;
}

bool scpi_errors_wait(void)
{
    return queued;
}

void scpi_put_oldest_error(void)
{
    int16_t number = queued ? queue[0].number : NO_ERROR;
    line_put_number(number);
    line_put_program_text(PSTR(",\""));
    line_put_program_text(text_of(number));
    if (queued) {
        if (queue[0].length)
            line_put(';');
        for (uint8_t at = 0; at < queue[0].length; at++)
            line_put(queue[0].found[at]);
        memmove(queue, queue + 1, --queued * sizeof *queue);
    }
    line_put('"');
}

/* --- texts --- */

static bool is_blank(char letter)
{
    return letter == ' ' || (letter >= '\t' && letter <= '\r');
}

static struct text stripped(struct text text)
{
    while (text.length && is_blank(text.at[0])) {
        text.at++;
        text.length--;
    }
    while (text.length && is_blank(text.at[text.length - 1]))
        text.length--;
    return text;
}

/* Takes what stands before the first mark outside quotes off `rest`; returns false when nothing is left to take. */
static bool next_part(struct text *rest, char mark, struct text *part)
{
    char quote = 0;
    uint16_t at = 0;
    if (!rest->at)
        return false;
    for (; at < rest->length; at++) {
        char letter = rest->at[at];
        if (quote)
            quote = letter == quote ? 0 : quote;
        else if (letter == '"' || letter == '\'')
            quote = letter;
        else if (letter == mark)
            break;
    }
    *part = stripped((struct text){rest->at, at});
    if (at < rest->length)
        *rest = (struct text){rest->at + at + 1, rest->length - at - 1};
    else
        rest->at = NULL;
    return true;
}

/* --- headers --- */

/* Whether a header's words are a command's, each in short or long form and any case. */
static bool fits(PGM_P wanted, const char *given)
{
    char letter;
    while ((letter = pgm_read_byte(wanted))) {
        if (toupper(*given) == toupper(letter)) {
            given++;
            wanted++;
        } else if (islower(letter) && isupper(pgm_read_byte(wanted - 1)) && !isalpha(*given)) {
            while (islower(pgm_read_byte(wanted))) /* the short form ends where the small letters begin */
                wanted++;
        } else {
            return false;
        }
    }
    return !*given;
}

static bool find(const char *header, struct command *found)
{
    for (const struct command *at = COMMANDS;; at++) {
        memcpy_P(found, at, sizeof *found);
        if (!found->header)
            return false;
        if (fits(found->header, header))
            return true;
    }
}

/* A header joined to the path of the one before it, as SCPI-1999, 6.2.4 has it; false when it is too long. */
static bool join_header(char *whole, const char *path, struct text header)
{
    size_t length = strlen(path);
    if (length + header.length + 1 > LONGEST_HEADER)
        return false;
    memcpy(whole, path, length);
    memcpy(whole + length, header.at, header.length);
    whole[length + header.length] = 0;
    return true;
}

static void keep_path(char *path, const char *whole)
{
    const char *colon = strrchr(whole, ':');
    size_t length = colon ? (size_t)(colon - whole) + 1 : 0;
    memcpy(path, whole, length);
    path[length] = 0;
}

/* --- parameters --- */

/* A check value at the end of a question: ",#H" and eight digits, of all before the comma. */
static bool is_check_value(struct text text)
{
    if (text.length != CRC_LENGTH || text.at[0] != '#' || text.at[1] != 'H')
        return false;
    for (uint8_t at = 2; at < CRC_LENGTH; at++)
        if (!isxdigit((uint8_t)text.at[at]))
            return false;
    return true;
}

static uint32_t hexadecimal(struct text text)
{
    uint32_t value = 0;
    for (uint8_t at = 2; at < text.length; at++)
        value = value << 4 | (isdigit(text.at[at]) ? text.at[at] - '0' : (text.at[at] & 7) + 9);
    return value;
}

/* A whole number from low to high: decimal, or #H, #Q, #B as IEEE 488.2, 7.7.2 and 7.7.4 have it. */
static enum error number_of(struct text text, uint32_t low, uint32_t high, uint32_t *number)
{
    uint8_t base = 10, at = 0;
    bool negative = false, too_large = false;
    if (text.length > 1 && text.at[0] == '#') {
        char kind = toupper(text.at[1]);
        base = kind == 'H' ? 16 : kind == 'Q' ? 8 : kind == 'B' ? 2 : 0;
        at = 2;
    } else if (text.length && (text.at[0] == '+' || text.at[0] == '-')) {
        negative = text.at[0] == '-';
        at = 1;
    }
    if (!base || at == text.length || text.length - at > (base == 2 ? 32 : MOST_DIGITS))
        return DATA_TYPE;
    *number = 0;
    for (; at < text.length; at++) {
        char letter = toupper(text.at[at]);
        uint8_t digit = isdigit(letter) ? letter - '0' : isupper(letter) ? letter - 'A' + 10 : 255;
        if (digit >= base)
            return DATA_TYPE;
        too_large = too_large || *number > (UINT32_MAX - digit) / base;
        *number = *number * base + digit;
    }
    if (too_large || (negative && *number) || *number < low || *number > high)
        return OUT_OF_RANGE;
    return NO_ERROR;
}

/* Checks the parameters of a unit and runs its command; `header` and `text` are named in errors. */
static bool run(const struct command *command, struct text unit, struct text header, struct text rest)
{
    struct text part, first = NOTHING, second = NOTHING, last = NOTHING;
    uint16_t given = 0;
    uint8_t wanted = command->high ? 1 : 0;
    bool missing = false;
    uint32_t number = 0;
    if (rest.length)
        while (next_part(&rest, ',', &part)) {
            missing = missing || !part.length;
            last = part;
            given++;
            if (given == 1)
                first = part;
            else if (given == 2)
                second = part;
        }
    if (given && is_check_value(last) && given > wanted) {
        const char *comma = last.at;
        while (comma > unit.at && *comma != ',')
            comma--;
        if (crc_of(unit.at, comma - unit.at) != hexadecimal(last)) {
            scpi_error(PARAMETER_ERROR, (struct text){"checksum", 8});
            return false;
        }
        given--;
    }
    if (given < wanted || missing) {
        scpi_error(MISSING, header);
        return false;
    }
    if (given > wanted) {
        scpi_error(NOT_ALLOWED, wanted ? second : first);
        return false;
    }
    if (wanted) {
        enum error wrong = number_of(first, command->low, command->high, &number);
        if (wrong) {
            scpi_error(wrong, first);
            return false;
        }
    }
    command->run(number);
    return true;
}

static void obey_unit(struct text unit, char *path)
{
    char whole[LONGEST_HEADER + 1];
    struct command command;
    uint16_t end = 0;
    for (uint16_t at = 0; at < unit.length; at++)
        if ((unit.at[at] < ' ' && unit.at[at] != '\t') || unit.at[at] > '~') {
            char code[] = "code 255";
            utoa((uint8_t)unit.at[at], code + 5, 10);
            scpi_error(INVALID_CHARACTER, (struct text){code, strlen(code)});
            return;
        }
    while (end < unit.length && unit.at[end] != ' ' && unit.at[end] != '\t')
        end++;
    struct text header = {unit.at, end}, words = header;
    struct text rest = stripped((struct text){unit.at + end, unit.length - end});
    bool rooted = header.at[0] == ':' || header.at[0] == '*';
    if (header.at[0] == ':') {
        words.at++;
        words.length--;
    }
    bool known = !rooted && *path && join_header(whole, path, words) && find(whole, &command);
    if (!known && !(join_header(whole, "", words) && find(whole, &command))) {
        scpi_error(UNDEFINED_HEADER, header);
        return;
    }
    if (run(&command, unit, header, rest) && header.at[0] != '*')
        keep_path(path, whole);
}

void scpi_answer(void)
{
    if (answered)
        line_put(';');
    answered = true;
}

void scpi_obey(char *message, uint16_t length)
{
    char path[LONGEST_HEADER + 1] = "";
    struct text rest = {message, length}, unit;
    answered = false;
    while (next_part(&rest, ';', &unit))
        if (unit.length) /* IEEE 488.2, 7.3.2.1: a unit may be empty */
            obey_unit(unit, path);
    if (answered)
        line_put('\n');
}
