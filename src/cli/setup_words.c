/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a setup in the logbook says: words "key=value" in any order. */
#include "cli/setup_words.h"

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
