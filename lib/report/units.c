#include "report/units.h"

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

/* A word between blanks: what it opens with, its number, what it closes with. */
struct word {
    const char *at;
    size_t length;
    size_t from, digits; /* of the number in it; digits 0: it holds none */
    int decimals;
    double value;
};

static struct word word_at(const char *at) {
    struct word word = {.at = at, .length = strcspn(at, " ")};
    const char *point;
    word.from = strspn(at, "([");
    if (at[word.from] == '+' || at[word.from] == '-') word.digits = 1;
    word.digits += strspn(at + word.from + word.digits, "0123456789.");
    while (word.digits && at[word.from + word.digits - 1] == '.') word.digits--;
    bool alone = word.from + word.digits == word.length ||
                 (word.from + word.digits + 1 == word.length && at[word.length - 1] == ',');
    if (!alone || !cw_number_read(at + word.from, word.digits, &word.value)) word.digits = 0;
    point = memchr(at + word.from, '.', word.digits);
    if (point) word.decimals = (int)(at + word.from + word.digits - point) - 1;
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
    for (int i = 0; i < 5 && *after == ' '; i++) {
        struct word word = word_at(after + 1);
        if (unit_of(&word, unit)) return i % 2 == 0;
        if (i % 2 ? !word.digits : !joins(&word)) return false;
        after += 1 + word.length;
    }
    return false;
}

static void say_number(struct cw_text *text, const struct word *word, const char *unit, bool apart,
                       enum cw_units units) {
    struct cw_unit_shown shown =
        apart ? cw_unit_shown_apart(units, unit) : cw_unit_shown(units, unit);
    int decimals = cw_unit_decimals(&shown, word->decimals);
    if (!strcmp(unit, "km/h") && !decimals) decimals = 1; /* 40 km/h are not 25 mph */
    cw_text_add(text, "%.*s%s%.*f%s", (int)word->from, word->at,
                word->at[word->from] == '+' && word->value >= 0 ? "+" : "", decimals,
                word->value * shown.factor + shown.offset,
                word->length > word->from + word->digits ? "," : "");
}

void cw_units_say(struct cw_text *text, const char *sentence, enum cw_units units) {
    struct word before = {.at = "", .length = 0};
    if (units == CW_UNITS_METRIC) { /* ours */
        cw_text_add(text, "%s", sentence);
        return;
    }
    for (const char *at = sentence; *at;) {
        struct word word = word_at(at);
        char unit[8];
        size_t length = before.digits ? unit_of(&word, unit) : 0;
        if (word.digits && unit_ahead(at + word.length, unit))
            say_number(text, &word, unit, sets_apart(&before), units);
        else if (length)
            cw_text_add(text, "%s%.*s", cw_unit_shown(units, unit).unit,
                        (int)(word.length - length), at + length);
        else
            cw_text_add_bytes(text, at, word.length);
        before = word;
        at += word.length;
        if (*at) cw_text_add(text, " ");
        at += *at != '\0';
    }
}
