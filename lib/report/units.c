#include "report/units.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "base/number.h"

/* The international foot, mile and pound (1959) and the conventional inch of mercury (NIST SP 811,
 * appendix B). Speeds are read in km/h, whatever the files have. */
static const struct {
    const char *unit;
    struct cw_unit_shown shown[2]; /* by enum cw_units */
} units_shown[] = {
    {"m/s", {{"km/h", 3.6, 0, -1}, {"mph", 3600 / 1609.344, 0, -1}}},
    {"km/h", {{"km/h", 1, 0, 0}, {"mph", 1 / 1.609344, 0, 0}}},
    {"m", {{"m", 1, 0, 0}, {"ft", 1 / 0.3048, 0, 0}}},
    {"km", {{"km", 1, 0, 0}, {"mi", 1 / 1.609344, 0, 0}}},
    {"kg", {{"kg", 1, 0, 0}, {"lb", 1 / 0.45359237, 0, 0}}},
    {"°C", {{"°C", 1, 0, 0}, {"°F", 1.8, 32, 0}}},
    {"C", {{"C", 1, 0, 0}, {"F", 1.8, 32, 0}}},
    {"hPa", {{"hPa", 1, 0, 0}, {"inHg", 1 / 33.86389, 0, 2}}},
};

struct cw_unit_shown cw_unit_shown(enum cw_units units, const char *unit) {
    for (size_t i = 0; i < sizeof units_shown / sizeof *units_shown; i++)
        if (!strcmp(units_shown[i].unit, unit)) return units_shown[i].shown[units];
    return (struct cw_unit_shown){unit, 1, 0, 0};
}

struct cw_unit_shown cw_unit_shown_apart(enum cw_units units, const char *unit) {
    struct cw_unit_shown shown = cw_unit_shown(units, unit);
    shown.offset = 0;
    return shown;
}

int cw_unit_decimals(const struct cw_unit_shown *shown, int decimals) {
    int most = decimals + shown->more;
    if (shown->more >= 0) return most;
    return most > 1 ? most : decimals < 1 ? decimals : 1;
}

/* ---- sentences ---- */

bool cw_is_unit(const char *word, size_t length) {
    static const char *const units[] = {"%",   "s",     "m",     "km",  "km/h", "m/s", "W",  "N",
                                        "kg",  "kg/m³", "kg/m3", "m²",  "m2",   "°C",  "C",  "hPa",
                                        "kPa", "psi",   "h",     "g",   "x",    "lb",  "ft", "mi",
                                        "mph", "°F",    "F",     "min", "inHg", "ms"};
    while (length && strchr("),;:.", word[length - 1])) length--;
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        if (strlen(units[i]) == length && !strncmp(word, units[i], length)) return true;
    return false;
}

/* A word between blanks: what it opens with, its number, what it closes with. */
struct word {
    const char *at;
    size_t length;
    size_t from, sign, digits; /* of the number in it; digits 0: it holds none */
    const char *tail;          /* what follows the number */
    int decimals;
    double value;
};

static const char minus[] = "\u2212", no_break[] = "\u00a0";

static bool begins(const char *at, const char *what) {
    return !strncmp(at, what, strlen(what));
}

/* Bytes of the blank there, which may be one that no line is broken at. */
static size_t blank_at(const char *at) {
    return *at == ' ' ? 1 : begins(at, no_break) ? strlen(no_break) : 0;
}

static struct word word_at(const char *at) {
    struct word word = {.at = at};
    const char *number, *point;
    while (at[word.length] && !blank_at(at + word.length)) word.length++;
    word.from = strspn(at, "([");
    number = at + word.from;
    word.sign = *number == '+' || *number == '-' ? 1 : begins(number, minus) ? strlen(minus) : 0;
    number += word.sign;
    word.digits = strspn(number, "0123456789.");
    while (word.digits && number[word.digits - 1] == '.') word.digits--;
    word.tail = number + word.digits;
    bool alone = word.tail + strspn(word.tail, "),;:.") >= at + word.length;
    if (!alone || !cw_number_read(number, word.digits, &word.value)) word.digits = 0;
    if (word.sign && at[word.from] != '+') word.value = -word.value;
    point = memchr(number, '.', word.digits);
    if (point) word.decimals = (int)(number + word.digits - point) - 1;
    return word;
}

static bool is(const struct word *word, const char *text) {
    return word->length == strlen(text) && !strncmp(word->at, text, word->length);
}

static bool joins(const struct word *word) {
    return is(word, "to") || is(word, "±") || is(word, "and") || is(word, "or");
}

static bool sets_apart(const struct word *word) {
    return is(word, "±") || is(word, "less") || is(word, "by");
}

/* The unit that a word begins with, as far as it is one of ours. */
static size_t unit_of(const struct word *word, char unit[8]) {
    size_t length = word->length;
    while (length && strchr("),;:.", word->at[length - 1])) length--;
    if (!length || length >= 8) return 0;
    memcpy(unit, word->at, length);
    unit[length] = '\0';
    for (size_t i = 0; i < sizeof units_shown / sizeof *units_shown; i++)
        if (!strcmp(units_shown[i].unit, unit)) return length;
    return 0;
}

/* Looks ahead from a number to the unit that it has, over "to" and other numbers. */
static bool unit_ahead(const char *after, char unit[8]) {
    for (int i = 0; i < 5 && blank_at(after); i++) {
        after += blank_at(after);
        struct word word = word_at(after);
        if (unit_of(&word, unit)) return i % 2 == 0;
        if (i % 2 ? !word.digits : !joins(&word)) return false;
        after += word.length;
    }
    return false;
}

static void say_number(struct cw_text *text, const struct word *word, const char *unit, bool apart,
                       enum cw_units units) {
    struct cw_unit_shown shown =
        apart ? cw_unit_shown_apart(units, unit) : cw_unit_shown(units, unit);
    double value = word->value * shown.factor + shown.offset;
    int decimals = cw_unit_decimals(&shown, word->decimals);
    if (!strcmp(unit, "km/h") && !decimals) decimals = 1; /* 60 km/h are not 37 mph */
    bool typeset = word->sign == strlen(minus), plus = word->sign && word->at[word->from] == '+';
    cw_text_add(text, "%.*s%s%.*f%.*s", (int)word->from, word->at,
                value < 0 ? (typeset ? minus : "-")
                : plus    ? "+"
                          : "",
                decimals, fabs(value), (int)(word->at + word->length - word->tail), word->tail);
}

/* Whether an interval in brackets begins there, "(1.2 to 3.4)": it has the unit of what it follows.
 */
static bool is_interval(const struct word *low) {
    const char *at = low->at + low->length;
    if (*low->at != '(' || !low->digits || *low->tail == ')' || !blank_at(at)) return false;
    struct word to = word_at(at + blank_at(at));
    at = to.at + to.length;
    if (!is(&to, "to") || !blank_at(at)) return false;
    struct word high = word_at(at + blank_at(at));
    return high.digits && *high.tail == ')';
}

void cw_units_say(struct cw_text *text, const char *sentence, enum cw_units units) {
    struct word before = {.at = "", .length = 0};
    char of[8] = "";                /* the unit of the interval in brackets that is being read */
    if (units == CW_UNITS_METRIC) { /* ours */
        cw_text_add(text, "%s", sentence);
        return;
    }
    for (const char *at = sentence; *at;) {
        struct word word = word_at(at);
        char unit[8];
        size_t length = before.digits ? unit_of(&word, unit) : 0;
        if (length && blank_at(at + word.length)) {
            struct word next = word_at(at + word.length + blank_at(at + word.length));
            if (is_interval(&next)) memcpy(of, unit, sizeof of);
        }
        if (*of && word.digits) {
            say_number(text, &word, of, sets_apart(&before), units);
            if (*word.tail == ')') *of = '\0';
        } else if (word.digits && unit_ahead(at + word.length, unit))
            say_number(text, &word, unit, sets_apart(&before), units);
        else if (length)
            cw_text_add(text, "%s%.*s", cw_unit_shown(units, unit).unit,
                        (int)(word.length - length), at + length);
        else
            cw_text_add_bytes(text, at, word.length);
        before = word;
        at += word.length;
        cw_text_add_bytes(text, at, blank_at(at));
        at += blank_at(at);
    }
}

void cw_units_say_head(struct cw_text *text, const char *head, enum cw_units units) {
    const char *comma = strstr(head, ", ");
    for (const char *next; comma && (next = strstr(comma + 1, ", "));) comma = next;
    struct word word = word_at(comma ? comma + 2 : "");
    char unit[8];
    size_t length = unit_of(&word, unit);
    if (!length)
        cw_text_add(text, "%s", head);
    else
        cw_text_add(text, "%.*s%s%s", (int)(word.at - head), head, cw_unit_shown(units, unit).unit,
                    word.at + length);
}
