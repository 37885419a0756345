#include "simulate/settings.h"

#include <ctype.h>
#include <string.h>

#include "base/number.h"
#include "base/print.h"
#include "simulate/words.h"

/* Copies the next part of *list, up to one of the ends, and moves *list behind it (NULL: that was
 * the last). False at the list's end and, with *list left, where the part is too long. */
static bool next_part(const char **list, const char *ends, char *part, size_t size) {
    if (!*list) return false;
    size_t length = strcspn(*list, ends);
    if (length >= size) return false;
    memcpy(part, *list, length);
    part[length] = '\0';
    *list = (*list)[length] ? *list + length + 1 : NULL;
    return true;
}

/* Numbers with colons between them: at least least, at most most; the others stay as they are. */
static bool read_numbers(const char *text, size_t least, size_t most, double *const *numbers) {
    char part[64];
    size_t n = 0;
    for (; next_part(&text, ":", part, sizeof part); n++)
        if (n == most || !cw_number_read(part, strlen(part), numbers[n])) return false;
    return n >= least && !text;
}

static bool read_segments(const char *text, struct cw_simulate_options *options) {
    char part[200];
    options->n_segments = 0;
    while (next_part(&text, ",", part, sizeof part)) {
        struct cw_simulate_segment segment = {0};
        double *const numbers[] = {&segment.length_m, &segment.slope_percent, &segment.turn_deg};
        if (options->n_segments == CW_SIMULATE_SEGMENTS_MAX || !read_numbers(part, 2, 3, numbers))
            return false;
        options->segments[options->n_segments++] = segment;
    }
    return !text;
}

static bool read_road(const char *text, struct cw_simulate_options *options) {
    return isdigit((unsigned char)text[0]) ? read_segments(text, options)
                                           : !cw_simulate_road(options, text, NULL);
}

static bool read_setup(const char *text, struct cw_simulate_setup *setup) {
    double *const numbers[] = {&setup->cda_m2, &setup->crr, &setup->load_kg};
    *setup = (struct cw_simulate_setup){.crr = 0.005, .tyres = "all"};
    next_part(&text, ":", setup->name, sizeof setup->name);
    char part[64];
    size_t n = 0;
    for (; n < 3 && next_part(&text, ":", part, sizeof part); n++)
        if (!cw_number_read(part, strlen(part), numbers[n])) return false;
    if (n == 3 && next_part(&text, ":", setup->tyres, sizeof setup->tyres) &&
        next_part(&text, ":", part, sizeof part) &&
        !cw_number_read(part, strlen(part), &setup->start_more_ms))
        return false;
    return n >= 1 && !text;
}

static bool read_setups(const char *text, struct cw_simulate_options *options) {
    char part[200];
    options->n_setups = 0;
    while (next_part(&text, ",", part, sizeof part)) {
        if (options->n_setups == CW_SIMULATE_SETUPS_MAX ||
            !read_setup(part, &options->setups[options->n_setups]))
            return false;
        options->n_setups++;
    }
    cw_simulate_order(options, 2);
    return !text;
}

static bool read_order(const char *text, struct cw_simulate_options *options) {
    char part[CW_SIMULATE_NAME_MAX];
    options->n_order = 0;
    while (next_part(&text, ", ", part, sizeof part)) {
        size_t i = 0;
        if (!*part) continue;
        while (i < options->n_setups && strcmp(options->setups[i].name, part) != 0) i++;
        if (i == options->n_setups || options->n_order == CW_SIMULATE_RUNS_MAX) return false;
        options->order[options->n_order++] = i;
    }
    return !text;
}

const char *const cw_simulate_speed_words[] = {"none", "wheel", "doppler", "own", NULL};

static bool read_speed(const char *text, struct cw_simulate_options *options) {
    for (int i = 0; cw_simulate_speed_words[i]; i++) {
        if (strcmp(cw_simulate_speed_words[i], text) != 0) continue;
        options->speed = (enum cw_simulate_speed)i;
        return true;
    }
    return false;
}

static bool read_elevation(const char *text, struct cw_simulate_options *options) {
    static const enum cw_elevation kinds[] = {CW_ELEVATION_BAROMETRIC, CW_ELEVATION_SATELLITE,
                                              CW_ELEVATION_TERRAIN, CW_ELEVATION_SURVEYED,
                                              CW_ELEVATION_LEVEL};
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        if (strcmp(cw_elevation_text(kinds[i]), text) != 0) continue;
        cw_simulate_elevation(options, kinds[i]);
        return true;
    }
    return false;
}

static bool read_name(const char *text, struct cw_simulate_options *options) {
    if (strlen(text) >= sizeof options->name) return false;
    cw_print(options->name, sizeof options->name, "%s", text);
    return true;
}

static bool read_start(const char *text, struct cw_simulate_options *options) {
    return cw_time_read(text, strlen(text), &options->start_s);
}

static bool read_seed(const char *text, struct cw_simulate_options *options) {
    long seed;
    if (!cw_integer_read(text, strlen(text), &seed) || seed < 0) return false;
    options->seed = (unsigned long)seed;
    return true;
}

static bool read_recordings(const char *text, struct cw_simulate_options *options) {
    long n;
    if (!cw_integer_read(text, strlen(text), &n) || n < 0) return false;
    options->n_recordings = (size_t)n;
    return true;
}

static bool read_format(const char *text, struct cw_simulate_options *options) {
    return cw_format_find(text, &options->format);
}

static const struct {
    const char *name, *form;
    bool (*read)(const char *text, struct cw_simulate_options *options);
} texts[] = {
    {"seed", "a whole number", read_seed},
    {"recordings", "a whole number", read_recordings},
    {"name", "no more than 63 letters", read_name},
    {"start", "a time as 2024-05-19T09:00:00Z", read_start},
    {"format", NULL, read_format},
    {"road", "straight, flattening, dip, steep or METRES:PERCENT[:DEGREES],...", read_road},
    {"setups", "NAME:CDA[:CRR[:KG[:TYRES[:MS]]]],...", read_setups},
    {"order", "names of the setups with commas between them", read_order},
    {"speed", "none, wheel, doppler or own", read_speed},
    {"elevation", "barometric, satellite, terrain, surveyed or level", read_elevation},
};

static const struct {
    const char *name;
    size_t offset;
} numbers[] =
    {
#define NUMBER(field, option, usual, low, high, meaning)                                           \
    {option, offsetof(struct cw_simulate_options, field)},
        CW_SIMULATE_NUMBERS(NUMBER)
#undef NUMBER
},
  flags[] = {
#define FLAG(field, option)                                                                        \
    { option, offsetof(struct cw_simulate_options, field) }
      FLAG(positions, "positions"), FLAG(distance, "distance"),
      FLAG(cadence, "cadence"),     FLAG(device_temperature, "device-temperature"),
      FLAG(irregular, "irregular"), FLAG(gzip, "gzip"),
      FLAG(both_ways, "both-ways"), FLAG(note_wind, "note-wind"),
      FLAG(air_log, "air-log"),     FLAG(companion, "companion"),
      FLAG(tape, "tape"),           FLAG(watch, "watch"),
#undef FLAG
};

static enum cw_status wrong(const char *name, const char *value, const char *form,
                            struct cw_error *error) {
    return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "%s is \"%.100s\": give %s", name, value,
                        form);
}

enum cw_status cw_simulate_set(struct cw_simulate_options *options, const char *name,
                               const char *value, struct cw_error *error) {
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        if (strcmp(numbers[i].name, name) != 0) continue;
        double *field = (double *)(void *)((char *)options + numbers[i].offset);
        return cw_number_read(value, strlen(value), field) ? CW_OK
                                                           : wrong(name, value, "a number", error);
    }
    for (size_t i = 0; i < sizeof flags / sizeof *flags; i++) {
        if (strcmp(flags[i].name, name) != 0) continue;
        bool yes = !strcmp(value, "yes");
        if (!yes && strcmp(value, "no") != 0) return wrong(name, value, "yes or no", error);
        *(bool *)((char *)options + flags[i].offset) = yes;
        return CW_OK;
    }
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        char words[CW_FORMAT_TEXT];
        if (strcmp(texts[i].name, name) != 0) continue;
        if (texts[i].read(value, options)) return CW_OK;
        return wrong(name, value, texts[i].form ? texts[i].form : cw_format_words(" or ", words),
                     error);
    }
    return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "there is no setting \"%s\"", name);
}

enum cw_status cw_simulate_set_all(struct cw_simulate_options *options, const char *settings,
                                   struct cw_error *error) {
    enum cw_status status = CW_OK;
    while (*(settings += strspn(settings, " ")) && !status) {
        size_t length = strcspn(settings, " "), of_name = strcspn(settings, "= ");
        char name[64], value[400];
        if (of_name == length || of_name >= sizeof name || length - of_name > sizeof value)
            return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "\"%.*s\" is no setting: give %s",
                                (int)length, settings, "NAME=VALUE");
        cw_print(name, sizeof name, "%.*s", (int)of_name, settings);
        cw_print(value, sizeof value, "%.*s", (int)(length - of_name - 1), settings + of_name + 1);
        status = cw_simulate_set(options, name, value, error);
        settings += length;
    }
    return status;
}
