/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a setup in the logbook says: words "key=value" in any order. */
#include "cli/setup_words.h"

#include "core/fail.h"
#include "core/number.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

/* Reads "key=12.5" out of a setup such as "main_jet=142 gearing=11/78"; NAN
 * when it is not there. What stands behind `mark` is read where a mark is
 * given. */
static double number_in(const char *setup, const char *key, char mark)
{
    const size_t length = strlen(key);
    for (const char *word = setup; *word != '\0';) {
        const size_t n = strcspn(word, " ,;");
        const char *value = word + length + 1;
        double number = NAN;
        if (n > length + 1 && strncmp(word, key, length) == 0 &&
            word[length] == '=') {
            const char *end = word + n;
            const char *slash = memchr(value, '/', (size_t)(end - value));
            if (mark == '/' && slash != NULL)
                value = slash + 1;
            else if (slash != NULL)
                end = slash;
            if (kw_number_parse(value, (size_t)(end - value), '.', &number))
                return number;
        }
        word += n;
        word += strspn(word, " ,;");
    }
    return NAN;
}

/* How often a key is named, with a value or without. */
static size_t times_named(const char *setup, const char *key)
{
    const size_t length = strlen(key);
    size_t times = 0;
    for (const char *word = setup; *word != '\0';) {
        const size_t n = strcspn(word, " ,;");
        times +=
            strcspn(word, "= ,;") == length && strncmp(word, key, length) == 0;
        word += n;
        word += strspn(word, " ,;");
    }
    return times;
}

/* "142,5" is how half of Europe writes it: the comma would part it, and 142 be
 * kept. */
static bool has_decimal_comma(const char *setup)
{
    static const char digits[] = "0123456789";
    for (const char *comma = strchr(setup, ','); comma != NULL;
         comma = strchr(comma + 1, ',')) {
        if (comma > setup && memchr(digits, comma[-1], sizeof digits - 1) &&
            memchr(digits, comma[1], sizeof digits - 1))
            return true;
    }
    return false;
}

static enum kw_status refuse_setup(const char *setup, struct kw_error *error)
{
    return kw_failf(error, KW_BAD_USAGE, NULL,
                    has_decimal_comma(setup)
                        ? "write numbers with a decimal point"
                        : "write it as \"main_jet=142 gearing=11/78\"",
                    "the setup '%s' cannot be understood", setup);
}

/* What nothing asks for may say what it likes, "plug=B10". A jet or a gearing
 * that cannot be read would be missed months later, when it is asked for. */
enum kw_status check_setup(const char *setup, struct kw_error *error)
{
    if (setup == NULL || setup[strspn(setup, " ,;")] == '\0')
        return KW_OK;
    const size_t jets = times_named(setup, "main_jet");
    const size_t gearings = times_named(setup, "gearing");
    const double engine_teeth = number_in(setup, "gearing", '\0');
    /* The ratio itself where there is no slash. */
    const double axle_teeth = number_in(setup, "gearing", '/');
    if (strchr(setup, '=') == NULL || has_decimal_comma(setup) || jets > 1 ||
        gearings > 1)
        return refuse_setup(setup, error);
    if (jets == 1 && !(main_jet_of_setup(setup) > 0.0))
        return refuse_setup(setup, error);
    if (gearings == 1 && !(engine_teeth > 0.0 && axle_teeth > 0.0))
        return refuse_setup(setup, error);
    return KW_OK;
}

double main_jet_of_setup(const char *setup)
{
    return setup != NULL ? number_in(setup, "main_jet", '\0') : NAN;
}

void gearing_of_setup(const char *setup,
                      double *engine_teeth,
                      double *axle_teeth)
{
    /* Without a slash the number is a ratio and names no teeth. */
    const bool teeth = setup != NULL && strchr(setup, '/') != NULL;
    *engine_teeth = teeth ? number_in(setup, "gearing", '\0') : NAN;
    *axle_teeth = teeth ? number_in(setup, "gearing", '/') : NAN;
}
