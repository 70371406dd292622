/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The last session in which nothing was found, out of the logbook: its air and
 * setup. That its mixture was right is for the owner to know. */
#ifndef KARTWRIGHT_CLI_KNOWN_GOOD_H
#define KARTWRIGHT_CLI_KNOWN_GOOD_H

#include "kartwright/error.h"
#include "kartwright/trackside.h"

/* Not known is NAN.
 *
 * log_name  what was logged that day; "" where the book has no such day.
 * *_teeth   of the newest session that names them, good or not. */
struct known_good {
    char log_name[128];
    struct kw_air air;
    double main_jet;
    double engine_teeth;
    double axle_teeth;
};

/* Finds the newest session of the book in which nothing was found, and with air
 * or setup written down.
 *
 * book     path of the book; "" or "-" for the usual place.
 * returns  KW_OK also when there is no such day; what kw_logbook_open() and
 *          kw_logbook_entries() give. */
enum kw_status read_known_good(const char *book,
                               struct known_good *out,
                               struct kw_error *error);

#endif
