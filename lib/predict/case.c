/* What is given of a ride, read from text. */
#include <math.h>
#include <string.h>

#include "base/number.h"
#include "base/print.h"
#include "predict/predict.h"

static const struct {
    const char *key;
    double low, high;
} keys[] = {
#define KEY(name, key, low, high, meaning) {key, low, high},
    CW_PREDICT_NUMBERS(KEY)
#undef KEY
};

struct cw_predict_case cw_predict_case_none(void) {
    struct cw_predict_case none = {0};
    for (size_t i = 0; i < CW_PREDICT_NUMBER_NAMES; i++)
        none.number[i] = (struct cw_predict_number){NAN, 0};
    return none;
}

/* Whether key is name, or how it begins. */
static bool begins(const char *name, const char *key) {
    size_t i = 0;
    while (key[i] && (name[i] == key[i] || (name[i] == '-' && key[i] == '_'))) i++;
    return !key[i];
}

/* The number of that key: the whole of it, or how only it begins. CW_PREDICT_NUMBER_NAMES: none. */
static size_t find(const char *key) {
    size_t found = CW_PREDICT_NUMBER_NAMES, n = 0;
    for (size_t i = 0; i < CW_PREDICT_NUMBER_NAMES; i++) {
        if (!begins(keys[i].key, key)) continue;
        if (strlen(keys[i].key) == strlen(key)) return i;
        found = i;
        n++;
    }
    return n == 1 && *key ? found : CW_PREDICT_NUMBER_NAMES;
}

/* "0.35", "0.35+-0.01", "0.35±0.01". */
static bool read_number(const char *text, struct cw_predict_number *number) {
    static const char *const signs[] = {"+-", "\302\261"};
    const char *sign = NULL;
    for (size_t i = 0; i < 2 && !sign; i++) sign = strstr(text, signs[i]);
    size_t length = sign ? (size_t)(sign - text) : strlen(text);
    *number = (struct cw_predict_number){0};
    if (!cw_number_read(text, length, &number->value)) return false;
    return !sign || (cw_number_read(sign + 2, strlen(sign + 2), &number->sd) && number->sd >= 0);
}

static enum cw_status set_setup(struct cw_predict_case *of, const char *name,
                                struct cw_error *error) {
    if (!*name || strlen(name) >= sizeof of->setup)
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "setup is \"%s\": give a setup's name",
                            name);
    cw_print(of->setup, sizeof of->setup, "%s", name);
    return CW_OK;
}

static enum cw_status no_key(const char *key, struct cw_error *error) {
    char known[400];
    size_t length = 0;
    for (size_t i = 0; i < CW_PREDICT_NUMBER_NAMES && length < sizeof known; i++) {
        cw_print(known + length, sizeof known - length, "%s, ", keys[i].key);
        length += strlen(keys[i].key) + 2;
    }
    return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "there is no \"%s\": give one of %ssetup",
                        key, known);
}

enum cw_status cw_predict_set(struct cw_predict_case *of, const char *key, const char *value,
                              struct cw_error *error) {
    size_t i = find(key);
    struct cw_predict_number number;
    if (!strcmp(key, "setup")) return set_setup(of, value, error);
    if (i == CW_PREDICT_NUMBER_NAMES) return no_key(key, error);
    if (!read_number(value, &number) || number.value < keys[i].low || number.value > keys[i].high)
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                            "%s is \"%s\": give a number from %.10g to %.10g, with +- and its "
                            "standard uncertainty where that is known",
                            keys[i].key, value, keys[i].low, keys[i].high);
    of->number[i] = number;
    return CW_OK;
}

enum cw_status cw_predict_set_all(struct cw_predict_case *of, const char *settings,
                                  struct cw_error *error) {
    enum cw_status status = CW_OK;
    size_t n = 0;
    if (strlen(settings) >= sizeof of->label)
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                            "\"%.40s...\" is too long: give %zu characters at the most", settings,
                            sizeof of->label - 1);
    cw_print(of->label, sizeof of->label, "%s", settings);
    while (*(settings += strspn(settings, ", ")) && status >= 0) {
        size_t length = strcspn(settings, ", "), of_key = strcspn(settings, "=, ");
        char key[sizeof of->label], value[sizeof of->label];
        cw_print(key, sizeof key, "%.*s", (int)of_key, settings);
        if (of_key == length)
            return cw_error_set(error, CW_E_ARGUMENT, NULL, 0,
                                "\"%s\" sets nothing: give KEY=VALUE", key);
        cw_print(value, sizeof value, "%.*s", (int)(length - of_key - 1), settings + of_key + 1);
        status = cw_predict_set(of, key, value, error);
        settings += length;
        n++;
    }
    if (status >= 0 && !n)
        return cw_error_set(error, CW_E_ARGUMENT, NULL, 0, "nothing is set: give KEY=VALUE");
    return status;
}

size_t cw_predict_with_setups(const struct cw_predict_options *options,
                              struct cw_predict_case *with, size_t most) {
    const struct cw_compare *compare = &options->from->average;
    size_t first = 0, n = 0;
    if (*options->base.setup) first = cw_compare_setup_named(compare, options->base.setup);
    for (size_t s = 0; s < compare->n_told && n < most; s++) {
        const char *name = compare->setups[s].name;
        if (s == first || *compare->setups[s].rider || set_setup(&with[n], name, NULL) < 0)
            continue;
        cw_print(with[n].label, sizeof with[n].label, "setup=%s", name);
        n++;
    }
    return n;
}
