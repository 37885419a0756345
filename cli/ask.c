#include "ask.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>
#include <time.h>
#include <unistd.h>

#include "base/number.h"
#include "base/print.h"
#include "base/utf8.h"
#include "outing/keys.h"
#include "output.h"

/* A pound (avoirdupois) in kg: exact (NIST SP 811, appendix B.8). */
static const double kg_per_lb = 0.45359237;

bool cw_ask_can(void) {
    return isatty(STDIN_FILENO) && isatty(STDERR_FILENO);
}

/* ---- a line ---- */

/* Longer is no answer. */
enum { LINE_LONGEST = 65536 };

/* Asks and reads a line without blanks around it into *line, which is to be freed. */
static enum cw_exit read_answer(const char *question, char **line) {
    size_t size = 0, start = 0;
    *line = NULL;
    fprintf(stderr, "%s ", question);
    fflush(stderr);
    ssize_t length = getline(line, &size, stdin);
    if (length < 0 || length > LINE_LONGEST) {
        fprintf(stderr, "\n");
        cw_message(NULL, 0,
                   "the answers ended: nothing is written; what is known may be given as options, "
                   "see \"coastwise help start\"");
        return CW_EXIT_INPUT;
    }
    size_t end = strlen(*line);
    while (end && strchr(" \t\r\n", (*line)[end - 1])) end--;
    (*line)[end] = '\0';
    while (strchr(" \t", (*line)[start]) && (*line)[start]) start++;
    memmove(*line, *line + start, end - start + 1);
    return CW_EXIT_ANSWERED;
}

static void say(const char *format, ...) __attribute__((format(printf, 1, 2)));

/* Why an answer will not do; it is asked again. */
static void say(const char *format, ...) {
    char message[512];
    struct cw_text shown = {0};
    va_list arguments;
    va_start(arguments, format);
    cw_print_v(message, sizeof message, format, arguments);
    va_end(arguments);
    cw_utf8_add_shown(&shown, message);
    fprintf(stderr, "  %s\n", shown.bytes ? shown.bytes : "");
    cw_text_free(&shown);
}

/* ---- numbers ---- */

/* A number that a blank or a unit may follow, which *unit then points to. A decimal comma will do.
 */
static bool read_number(char *line, double *number, const char **unit) {
    size_t length = strspn(line, "+-.,0123456789");
    char *comma = memchr(line, ',', length);
    if (comma) *comma = '.';
    *unit = line + length;
    *unit += strspn(*unit, " ");
    return cw_number_read(line, length, number);
}

/* A thing that is weighed. */
struct weighed {
    const char *section, *question;
    double pounds_from_kg; /* more than this is asked about: it may be pounds */
};

/* Whether the answer is a mass; else says why not. */
static bool read_mass(const struct weighed *of, char *line, double *kg) {
    const struct cw_outing_key *key = cw_outing_key_find(of->section, "mass_kg");
    const char *unit;
    double number;
    if (!read_number(line, &number, &unit)) {
        say("\"%s\" is no mass: give kilograms, as 71.5", line);
        return false;
    }
    bool lb = !strcmp(unit, "lb") || !strcmp(unit, "lbs");
    if (*unit && !lb && strcmp(unit, "kg")) {
        say("\"%s\" is no unit of mass here: give kg, or lb", unit);
        return false;
    }
    *kg = lb ? number * kg_per_lb : number;
    if (*kg < key->low || *kg > key->high) {
        say("%g kg cannot be: it is from %g to %g kg", *kg, key->low, key->high);
        return false;
    }
    if (!*unit && number > of->pounds_from_kg) {
        say("%g kg is a lot; were it pounds, it would be %.1f kg: give it again with kg or lb "
            "behind it",
            number, number * kg_per_lb);
        return false;
    }
    *kg = round(1000 * *kg) / 1000;
    return true;
}

static enum cw_exit ask_mass(const struct weighed *of, double *kg) {
    for (;;) {
        char *line;
        enum cw_exit status = read_answer(of->question, &line);
        bool empty = status == CW_EXIT_ANSWERED && !*line;
        bool done = status != CW_EXIT_ANSWERED || empty || read_mass(of, line, kg);
        free(line);
        if (!done) continue;
        if (empty) *kg = NAN;
        return status;
    }
}

/* The computer's own offset at that time, which may be the rider's. */
static double offset_here(double unix_s) {
    time_t then = (time_t)unix_s;
    struct tm local, utc;
    if (!localtime_r(&then, &local) || !gmtime_r(&then, &utc)) return 0;
    int days = local.tm_yday - utc.tm_yday;
    if (days > 1) days = -1; /* the turn of a year lies between */
    if (days < -1) days = 1;
    return 86400.0 * days + 3600.0 * (local.tm_hour - utc.tm_hour) +
           60.0 * (local.tm_min - utc.tm_min);
}

static enum cw_exit ask_offset(struct cw_starting *start) {
    const struct cw_analysed *of = &start->analysis->outings[0];
    double start_s = of->recordings[0].samples.time_s[0], here_s = offset_here(start_s);
    char question[200], utc[64];
    cw_time_write(floor(start_s), utc, sizeof utc);
    cw_print(question, sizeof question,
             "The first recording begins at %.5s UTC. Local time's offset from UTC there, as "
             "+01:00\n(Enter: %c%02.0f:%02.0f, this computer's):",
             utc + strlen("YYYY-MM-DDT"), here_s < 0 ? '-' : '+', floor(fabs(here_s) / 3600),
             fmod(fabs(here_s) / 60, 60));
    for (;;) {
        char *line;
        enum cw_exit status = read_answer(question, &line);
        bool done = status != CW_EXIT_ANSWERED;
        if (!done && !*line) {
            start->said.utc_offset_s = here_s;
            done = true;
        } else if (!done) {
            done = cw_offset_read(line, strlen(line), &start->said.utc_offset_s);
            if (!done) say("\"%s\" is no offset from UTC: give it as +01:00", line);
        }
        free(line);
        if (done) return status;
        start->said.utc_offset_s = NAN;
    }
}

enum cw_exit cw_ask_masses(struct cw_starting *start) {
    static const struct weighed rider = {
        "rider",
        "Rider with clothes, shoes, helmet and all that is carried, in kg: stand on a bathroom "
        "scale\ndressed to ride (Enter: fill it in later):",
        120};
    static const struct weighed bike = {
        "bike",
        "Bicycle with bottles and bags, in kg: stand on the scale with it, and take the rider "
        "off\n(Enter: fill it in later):",
        20};
    enum cw_exit status = CW_EXIT_ANSWERED;
    unsigned lacks = cw_start_lacks(start);
    if (lacks & CW_LACKS_RIDER) status = ask_mass(&rider, &start->said.rider_kg);
    if (status == CW_EXIT_ANSWERED && lacks & CW_LACKS_BIKE)
        status = ask_mass(&bike, &start->said.bike_kg);
    if (status == CW_EXIT_ANSWERED && isnan(start->said.utc_offset_s) &&
        !start->analysis->outings[0].outing.utc_offset_given && !start->updates)
        status = ask_offset(start);
    return status;
}

/* ---- setups and order ---- */

static void say_error(const struct cw_error *error) {
    say("%s", error->message);
}

/* A line of setups into what is said. False: the error says what is wrong, and none is taken. */
static bool read_setups(struct cw_start_said *said, char *line, struct cw_error *error) {
    size_t before = said->n_setups;
    for (char *rest = line, *word; (word = strtok_r(rest, " \t,", &rest));)
        if (cw_start_add_setup(said, word, error) < 0) {
            said->n_setups = before;
            return false;
        }
    return true;
}

static enum cw_exit ask_names(struct cw_starting *start) {
    for (;;) {
        char *line;
        struct cw_error error;
        enum cw_exit status = read_answer(
            "Setups that were tried, a word each, with what one adds in kg behind a colon, as\n"
            "upright tucked bag:2.5 (Enter: all runs were alike, or fill it in later):",
            &line);
        bool done = status != CW_EXIT_ANSWERED || read_setups(&start->said, line, &error);
        free(line);
        if (done) return status;
        say_error(&error);
    }
}

static void show_runs(const struct cw_starting *start, const size_t *runs, size_t n) {
    for (size_t i = 0; i < n; i++) {
        struct cw_text text = {0}, shown = {0};
        cw_start_run_add(start, &start->analysis->outings[0].runs.at[runs[i]], &text);
        cw_utf8_add_shown(&shown, text.bytes ? text.bytes : "");
        fprintf(stderr, "  %s\n", shown.bytes ? shown.bytes : "");
        cw_text_free(&text);
        cw_text_free(&shown);
    }
}

/* The setup that a word means: its name, or how only one of them begins; "-" as it is. NULL: none.
 */
static const char *setup_meant(const struct cw_outing *outing, const char *word) {
    const char *meant = NULL;
    if (!strcmp(word, "-")) return "-";
    for (size_t i = 0; i < outing->n_setups; i++) {
        const char *name = outing->setups[i].name;
        if (!strcmp(name, word)) return name;
        if (strncmp(name, word, strlen(word))) continue;
        if (meant) return NULL;
        meant = name;
    }
    return meant;
}

/* Takes the words of a line behind the *got that there are already. False, said: none was taken. */
static bool read_order(const struct cw_outing *outing, char *line, const char **words, size_t n,
                       size_t *got) {
    size_t at = *got;
    for (char *rest = line, *word; (word = strtok_r(rest, " \t,", &rest));) {
        if (at == n) {
            say("these are more than %zu: give the setups of the %zu that are missing", n,
                n - *got);
            return false;
        }
        words[at] = setup_meant(outing, word);
        if (!words[at++]) {
            say("\"%s\" is none of the setups, or begins several", word);
            return false;
        }
    }
    *got = at;
    return true;
}

/* The setup of each run listed; *got stays 0 where nothing was answered. */
static enum cw_exit ask_words(const struct cw_starting *start, const size_t *runs, size_t n,
                              const char **words, size_t *got) {
    const struct cw_analysed *of = &start->analysis->outings[0];
    *got = 0;
    while (*got < n) {
        char question[300], *line;
        if (*got)
            cw_print(question, sizeof question,
                     "%zu of %zu; go on with that of run %ld (Enter: begin again):", *got, n,
                     of->runs.at[runs[*got]].number);
        else
            cw_print(question, sizeof question,
                     "Setups in that order, a name each or how it begins, - for a run to leave "
                     "out\n(Enter: fill them in later):");
        enum cw_exit status = read_answer(question, &line);
        if (status == CW_EXIT_ANSWERED && !*line) {
            free(line);
            if (!*got) return status;
            *got = 0;
            continue;
        }
        if (status == CW_EXIT_ANSWERED) read_order(&of->outing, line, words, n, got);
        free(line);
        if (status != CW_EXIT_ANSWERED) return status;
    }
    return CW_EXIT_ANSWERED;
}

enum cw_exit cw_ask_setups(struct cw_starting *start) {
    const struct cw_outing *outing = &start->analysis->outings[0].outing;
    enum cw_exit status = CW_EXIT_ANSWERED;
    struct cw_error error;
    size_t *runs, n, got = 0;
    if (cw_start_lacks(start) & CW_LACKS_SETUPS) {
        status = ask_names(start);
        if (status != CW_EXIT_ANSWERED || !start->said.n_setups) return status;
        if (cw_start_find(start, &error) < 0) return cw_message_error(&error);
    }
    if (cw_start_list(start, &runs, &n, &error) < 0) return cw_message_error(&error);
    const char **words = calloc(n + 1, sizeof *words);
    if (n && words && (outing->n_setups > 1 || outing->order.n)) {
        fprintf(stderr, "%zu %s:\n", n, n == 1 ? "run" : "runs");
        show_runs(start, runs, n);
        status = ask_words(start, runs, n, words, &got);
    }
    free(runs);
    if (status == CW_EXIT_ANSWERED && got && cw_start_label(start, words, got, &error) < 0)
        status = cw_message_error(&error);
    free(words);
    return status;
}

/* ---- air ---- */

/* A number within a key's range; NaN where nothing is answered. */
static enum cw_exit ask_number(const char *question, const char *name, double *number) {
    const struct cw_outing_key *key = cw_outing_key_find("air", name);
    for (;;) {
        char *line;
        const char *unit;
        enum cw_exit status = read_answer(question, &line);
        bool done = status != CW_EXIT_ANSWERED || !*line;
        if (done)
            *number = NAN;
        else if (!read_number(line, number, &unit) ||
                 (*unit && strcmp(unit, key->unit) && strcmp(unit, "C")))
            say("\"%s\" is no number of %s", line, key->unit);
        else if (*number < key->low || *number > key->high)
            say("%g %s cannot be: it is from %g to %g %s", *number, key->unit, key->low, key->high,
                key->unit);
        else
            done = true;
        free(line);
        if (done) return status;
    }
}

/* Which of two a pressure is. */
static enum cw_exit ask_which(struct cw_starting *start, double hpa, double height_m) {
    for (;;) {
        char *line, question[200];
        cw_print(
            question, sizeof question,
            "Is %g hPa a barometer's at the hill, or a weather report's, reduced to sea level? "
            "(hill or sea):",
            hpa);
        enum cw_exit status = read_answer(question, &line);
        bool done = status != CW_EXIT_ANSWERED;
        if (!done && *line && !strncmp("hill", line, strlen(line))) {
            start->said.pressure_hpa = hpa;
            done = true;
        } else if (!done && *line && !strncmp("sea", line, strlen(line))) {
            start->said.pressure_sea_level_hpa = hpa;
            done = true;
        } else if (!done) {
            say("answer hill or sea; the road is some %.0f m high", height_m);
        }
        free(line);
        if (done) return status;
    }
}

static enum cw_exit ask_pressure(struct cw_starting *start) {
    double height_m = cw_start_height_m(start), hpa;
    for (;;) {
        enum cw_exit status = ask_number(
            "Air pressure in hPa, by a barometer at the hill or as a weather report has it\n"
            "(Enter: not known):",
            "pressure_hpa", &hpa);
        if (status != CW_EXIT_ANSWERED || isnan(hpa)) return status;
        bool hill = cw_start_is_weather(hpa, height_m), sea = cw_start_is_weather(hpa, 0);
        if (isnan(height_m)) {
            start->said.pressure_hpa = hpa;
            return status;
        }
        if (hill && sea && height_m > 10) return ask_which(start, hpa, height_m);
        if (hill) {
            start->said.pressure_hpa = hpa;
            return status;
        }
        if (sea) {
            start->said.pressure_sea_level_hpa = hpa;
            say("taken as a weather report's: at the road's %.0f m it is %.1f hPa", height_m,
                cw_start_pressure_hpa(start, hpa));
            return status;
        }
        say("%g hPa is no weather's, at the road's %.0f m nor at sea level", hpa, height_m);
    }
}

enum cw_exit cw_ask_air(struct cw_starting *start) {
    const struct cw_air *air = &start->analysis->outings[0].outing.air;
    struct cw_start_said *said = &start->said;
    enum cw_exit status = CW_EXIT_ANSWERED;
    if (isnan(said->temperature_c) && isnan(air->temperature_c)) {
        struct cw_device_air device = cw_start_device_air(start);
        char question[200];
        if (device.n)
            cw_print(question, sizeof question,
                     "Temperature at the hill in degrees Celsius (Enter: %.1f, guessed from the "
                     "recorded %.1f):",
                     device.temperature_c, device.recorded_c);
        else
            cw_print(question, sizeof question,
                     "Temperature at the hill in degrees Celsius (Enter: not known):");
        status = ask_number(question, "temperature_c", &said->temperature_c);
    }
    if (status == CW_EXIT_ANSWERED && isnan(said->pressure_hpa) &&
        isnan(said->pressure_sea_level_hpa) && isnan(air->pressure_hpa))
        status = ask_pressure(start);
    return status;
}
