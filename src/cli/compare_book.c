/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the logbook adds to a comparison. */
#include "cli/compare_book.h"

#include "cli/from_book.h"
#include "cli/setup_change.h"

#include "core/notices.h"

#include <math.h>
#include <stdlib.h>

/* Sums over the logs of one side.
 *
 * air, n_air  sum of the air of so many.
 * setup       of the last log that has one: a day's tuning ends there. Owned.
 */
struct known_side {
    struct kw_air air;
    size_t n_air;
    char *setup;
};

/* ---- reading ------------------------------------------------------------- */

static void add_air(struct known_side *known, const struct kw_air *air)
{
    if (isnan(air->temp_c) || isnan(air->pressure_pa) || isnan(air->humidity))
        return;
    known->air.temp_c += air->temp_c;
    known->air.pressure_pa += air->pressure_pa;
    known->air.humidity += air->humidity;
    known->n_air++;
}

/* Logs that are not in the book are passed over: it knows nothing of them. */
static enum kw_status read_known_side(const struct from_book *from,
                                      const struct words *logs,
                                      struct known_side *known,
                                      struct kw_error *error)
{
    enum kw_status status = KW_OK;
    for (size_t i = 0; i < logs->n && status == KW_OK; i++) {
        struct book_day day;
        status = from_book_day_of(from, logs->items[i], &day, error);
        if (status != KW_OK || day.entry == NULL)
            continue;
        add_air(known, &day.facts.air);
        if (day.facts.setup != NULL && day.facts.setup[0] != '\0') {
            free(known->setup);
            known->setup = day.facts.setup;
            day.facts.setup = NULL;
        }
        book_day_free(&day);
    }
    return status;
}

/* Mean of the logs: a side has one air. What was typed comes before what the
 * book says.
 *
 * returns  true when it was taken. */
static bool take_air(const struct known_side *known, struct book_side *side)
{
    const double n = (double)known->n_air;
    if (side->has_air || known->n_air == 0)
        return false;
    side->has_air = true;
    side->air =
        (struct kw_air){known->air.temp_c / n, known->air.pressure_pa / n,
                        known->air.humidity / n};
    return true;
}

/* ---- saying -------------------------------------------------------------- */

/* As it was written down, in the units of the instrument. */
static void say_air(struct kw_text *text, const struct book_side *side)
{
    if (!side->has_air) {
        kw_text_add(text, "none");
        return;
    }
    kw_text_add_number(text, side->air.temp_c, 0);
    kw_text_add(text, " C, ");
    kw_text_add_number(text, side->air.pressure_pa / 100.0, 0);
    kw_text_add(text, " hPa, ");
    kw_text_add_number(text, 100.0 * side->air.humidity, 0);
    kw_text_add(text, " %");
}

/* With the air of one side only nothing can be worked out: say which lacks. */
static enum kw_status note_air(const struct book_side sides[KW_N_SIDES],
                               struct kw_notices *notices,
                               struct kw_error *error)
{
    struct kw_text text = {0};
    kw_text_add(&text, "air, given or from the logbook: before ");
    say_air(&text, &sides[KW_BEFORE]);
    kw_text_add(&text, "; after ");
    say_air(&text, &sides[KW_AFTER]);
    return kw_notices_tell(notices, 0, &text, error);
}

/* Two changes at once cannot be told apart by any number of laps. */
static enum kw_status note_setup(const struct known_side known[KW_N_SIDES],
                                 struct kw_notices *notices,
                                 struct kw_error *error)
{
    struct kw_text changes = {0};
    struct kw_text text = {0};
    if (known[KW_BEFORE].setup == NULL || known[KW_AFTER].setup == NULL)
        return KW_OK;
    const size_t n = add_setup_changes(&changes, known[KW_BEFORE].setup,
                                       known[KW_AFTER].setup);
    text.failed = kw_text_failed(&changes);
    if (n == 0) {
        kw_text_add(&text, "the logbook has the same setup on both sides");
    } else if (!text.failed) {
        kw_text_addf(&text, "the logbook says what was changed: %s",
                     changes.bytes);
        if (n > 1)
            kw_text_add(&text, ". Which of them did it, no comparison can "
                               "tell: change one thing at a time");
    }
    kw_text_free(&changes);
    return kw_notices_tell(notices, 0, &text, error);
}

/* ---- the whole ----------------------------------------------------------- */

static enum kw_status read_book(const char *path,
                                struct book_side sides[KW_N_SIDES],
                                struct kw_notices *notices,
                                struct kw_error *error)
{
    struct known_side known[KW_N_SIDES] = {0};
    struct from_book from;
    bool taken = false;
    enum kw_status status =
        from_book_open(path != NULL ? path : "", &from, error);
    if (status == KW_OK && path != NULL && !kw_logbook_exists(from.book))
        status =
            kw_fail(error, KW_BAD_INPUT, NULL, 0, "there is no logbook yet",
                    "file a session with 'kartwright logbook add'");
    for (int side = 0; side < KW_N_SIDES && status == KW_OK; side++) {
        status = read_known_side(&from, sides[side].logs, &known[side], error);
        taken = take_air(&known[side], &sides[side]) || taken;
    }
    if (status == KW_OK && taken)
        status = note_air(sides, notices, error);
    if (status == KW_OK)
        status = note_setup(known, notices, error);
    for (int side = 0; side < KW_N_SIDES; side++)
        free(known[side].setup);
    from_book_close(&from);
    return status;
}

/* The usual book is asked even where nobody named one, and then must not stand
 * in the way. */
enum kw_status ask_book(const char *book,
                        struct book_side sides[KW_N_SIDES],
                        struct kw_notices *notices,
                        struct kw_error *error)
{
    struct kw_error trouble = {0};
    const enum kw_status status = read_book(book, sides, notices, &trouble);
    if (status == KW_OK)
        return KW_OK;
    if (book != NULL || status == KW_NO_MEMORY) {
        *error = trouble;
        return status;
    }
    /* Nobody asked for it: the comparison goes on without. */
    struct kw_text text = {0};
    kw_text_addf(&text, "the logbook was not asked: %s", trouble.what);
    return kw_notices_tell(notices, 0, &text, error);
}
