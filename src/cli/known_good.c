/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading the last session in which nothing was found out of the book, so that
 * nothing is typed twice. */
#include "cli/known_good.h"

#include "cli/from_book.h"
#include "cli/setup_words.h"
#include "core/text.h"

#include <math.h>

static void take_facts(const struct kw_session_facts *facts,
                       struct known_good *out)
{
    out->air = facts->air;
    out->main_jet = main_jet_of_setup(facts->setup);
    kw_text_copy(out->log_name, sizeof out->log_name, facts->log_name);
}

/* Sprockets are written down when they are changed, and not each day: the
 * newest session that names them says what is fitted, as in a review. */
static enum kw_status take_gearing(const struct from_book *from,
                                   struct known_good *out,
                                   struct kw_error *error)
{
    const struct book_search search = {.need = NEED_GEARING};
    struct book_day day = {0};
    const enum kw_status status = from_book_find(from, &search, &day, error);
    if (day.entry != NULL)
        gearing_of_setup(day.facts.setup, &out->engine_teeth, &out->axle_teeth);
    book_day_free(&day);
    return status;
}

/* Of any kart: the commands that ask (air, gearing) are told no kart's name. */
enum kw_status read_known_good(const char *book,
                               struct known_good *out,
                               struct kw_error *error)
{
    const struct book_search search = {.need = NEED_GOOD_WITH_FACTS};
    struct from_book from;
    struct book_day day = {0};
    *out = (struct known_good){.air = {NAN, NAN, NAN},
                               .main_jet = NAN,
                               .engine_teeth = NAN,
                               .axle_teeth = NAN};
    enum kw_status status = from_book_open(book, &from, error);
    if (status == KW_OK)
        status = from_book_find(&from, &search, &day, error);
    if (day.entry != NULL)
        take_facts(&day.facts, out);
    if (status == KW_OK)
        status = take_gearing(&from, out, error);
    book_day_free(&day);
    from_book_close(&from);
    return status;
}
