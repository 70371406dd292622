/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Small JSON objects, to standard output or to a file that is whole or not
 * there. */
#include "cli/json_out.h"

#include "cli/delivery.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Digits that a reader can use; a double's last ones are noise of the sum. */
enum { JSON_DIGITS = 12 };

/* jansson has no way to write NAN: json_real() of one fails, and with it the
 * whole object. */
json_t *json_number_or_null(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

/* puts() adds the line end that a shell wants; a file has the bytes of the
 * document alone. */
static int write_text(const char *text, const char *path)
{
    struct kw_error error = {0};
    if (strcmp(path, "-") == 0) {
        puts(text);
        return EXIT_DONE;
    }
    if (put_in_place(path, text, &error) != KW_OK)
        return print_error(&error);
    return EXIT_DONE;
}

/* NULL comes in where memory ran out while the tree was made; json_dumps() then
 * gives NULL too, and json_decref() accepts it. */
int print_json(json_t *root, const char *path)
{
    char *text =
        /* Indented, for people look into these files too. */
        json_dumps(root, JSON_INDENT(2) | JSON_REAL_PRECISION(JSON_DIGITS));
    json_decref(root);
    if (text == NULL) {
        struct kw_error error = {0};
        kw_fail_memory(&error);
        return print_error(&error);
    }
    const int status = write_text(text, path);
    free(text);
    return status;
}
