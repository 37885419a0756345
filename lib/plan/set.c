/* What is asked of a plan, read from text. */
#include <stddef.h>
#include <string.h>

#include "base/number.h"
#include "base/text.h"
#include "plan/plan.h"
#include "simulate/settings.h"

static const struct {
    const char *key;
    double low, high;
    size_t offset;
} numbers[] = {
#define NUMBER(field, key, argument, low, high, meaning)                                           \
    {key, low, high, offsetof(struct cw_plan_options, field)},
    CW_PLAN_GUESSES(NUMBER) CW_PLAN_DAY(NUMBER)
#undef NUMBER
        {"start-speed-ms", 0, 15, offsetof(struct cw_plan_options, day.start_speed_ms)},
};

static enum cw_status set_number(struct cw_plan_options *options, size_t i, const char *value,
                                 struct cw_error *error) {
    double number;
    if (!cw_number_read(value, strlen(value), &number) || number < numbers[i].low ||
        number > numbers[i].high)
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                            "%s is \"%.100s\": give a number from %.10g to %.10g", numbers[i].key,
                            value, numbers[i].low, numbers[i].high);
    *(double *)(void *)((char *)options + numbers[i].offset) = number;
    if (numbers[i].offset == offsetof(struct cw_plan_options, day.start_speed_ms))
        options->start_speed_given = true;
    return CW_OK;
}

/* Names with commas between them, into setups; CdA and Crr come with the plan. */
static enum cw_status set_setups(struct cw_plan_options *options, const char *names,
                                 struct cw_error *error) {
    enum { LONGEST = 400 }; /* what a setting may be */
    struct cw_text list = {0};
    for (size_t from = 0; from <= strlen(names);) {
        size_t length = strcspn(names + from, ",");
        cw_text_add(&list, "%s%.*s:0.4", from ? "," : "", (int)length, names + from);
        from += length + 1;
    }
    enum cw_status status = CW_E_ARGUMENT;
    if (list.failed)
        status = cw_error_memory(error);
    else if (list.length < LONGEST && !strchr(names, ':'))
        status = cw_simulate_set(&options->day, "setups", list.bytes, NULL);
    cw_text_free(&list);
    if (status == CW_E_MEMORY) return status;
    if (status >= 0 && options->day.n_setups >= 2) return CW_OK;
    return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                        "setups is \"%.100s\": give two to %d names with commas between them",
                        names, CW_SIMULATE_SETUPS_MAX);
}

static enum cw_status set_count(const char *key, const char *value, long low, long high,
                                long *number, struct cw_error *error) {
    if (cw_integer_read(value, strlen(value), number) && *number >= low && *number <= high)
        return CW_OK;
    return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                        "%s is \"%.100s\": give a whole number from %ld to %ld", key, value, low,
                        high);
}

enum cw_status cw_plan_set(struct cw_plan_options *options, const char *key, const char *value,
                           struct cw_error *error) {
    enum cw_status status = CW_OK;
    long number;
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++)
        if (!strcmp(numbers[i].key, key)) return set_number(options, i, value, error);
    if (!strcmp(key, "setups")) return set_setups(options, value, error);
    if (!strcmp(key, "road")) return cw_simulate_set(&options->day, "road", value, error);
    if (!strcmp(key, "recorder")) {
        if (cw_plan_recorder_named(value, &options->recorder)) return CW_OK;
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "there is no recorder \"%s\"", value);
    }
    if (!strcmp(key, "runs")) {
        status = set_count(key, value, 2, CW_SIMULATE_RUNS_MAX / 2, &number, error);
        if (status >= 0) options->runs = (size_t)number;
        return status;
    }
    if (!strcmp(key, "seed")) {
        status = set_count(key, value, 0, 2147483647, &number, error);
        if (status >= 0) options->seed = (unsigned long)number;
        return status;
    }
    return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "there is no \"%s\"", key);
}
