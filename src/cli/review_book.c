/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a review takes from the logbook. Each thing taken is said in a notice:
 * a wrong kart or a reference from another engine would show nowhere else. */
#include "cli/review_book.h"

#include "cli/from_book.h"
#include "cli/setup_words.h"
#include "cli/since_day.h"

#include "core/notices.h"
#include "core/text.h"

#include <math.h>
#include <stdlib.h>

/* While it is gathered.
 *
 * own   the session of this very log, when it was filed before.
 * kart  name, or NULL; belongs to an entry or to the profile.
 * said  the line that grows: one for the kart and one for the reference, since
 *       a screen has room for few and those of the log come behind. */
struct gathering {
    const struct review_wanted *wanted;
    struct review_sources *out;
    struct from_book from;
    struct book_day own;
    const char *kart;
    struct kw_text said;
    struct kw_error *error;
};

static struct kw_text *say(struct gathering *gathering)
{
    struct kw_text *said = &gathering->said;
    kw_text_add(said, said->length == 0 ? "from the logbook: " : "; ");
    return said;
}

static void add_from(struct kw_text *said, const struct book_day *day)
{
    kw_text_add(said, " (");
    add_book_day(said, day);
    kw_text_add(said, ")");
}

/* Makes a notice of what was said since the last one. */
static enum kw_status tell(struct gathering *gathering)
{
    return kw_notices_tell(&gathering->out->notices, 0, &gathering->said,
                           gathering->error);
}

static int64_t own_id(const struct gathering *gathering)
{
    return gathering->own.entry == NULL ? 0 : gathering->own.entry->id;
}

/* ---- kart and setup ------------------------------------------------------ */

/* A profile on the command line needs no book. */
static enum kw_status take_kart(struct gathering *gathering)
{
    const struct input_words *words = gathering->wanted->input;
    const struct book_search search = {.need = NEED_PROFILE,
                                       .kart = gathering->kart,
                                       .first_id = own_id(gathering)};
    struct input *input = &gathering->out->input;
    struct book_day day = {0};
    if (words->kart != NULL)
        return input_open(input, words, gathering->error);
    enum kw_status status =
        from_book_find(&gathering->from, &search, &day, gathering->error);
    if (status == KW_OK && day.entry == NULL) {
        status = input_open(input, words, gathering->error);
        kw_text_add(say(gathering),
                    "no profile of the kart (file one with 'logbook add "
                    "--kart')");
    } else if (status == KW_OK) {
        status = from_book_input(&gathering->from, &day, words, input,
                                 gathering->error);
        const bool named = status == KW_OK && input->profile.name != NULL;
        kw_text_add(say(gathering), "kart ");
        kw_text_add(&gathering->said,
                    named ? input->profile.name : "as in its profile");
        add_from(&gathering->said, &day);
    }
    book_day_free(&day);
    return status;
}

/* Sprockets are changed more often than profiles: those of the setup win over
 * the book's profile, and fill a gap in one that was named. */
static enum kw_status take_gearing(struct gathering *gathering)
{
    struct kw_profile *profile = &gathering->out->input.profile;
    const struct book_search search = {.need = NEED_GEARING,
                                       .kart = gathering->kart,
                                       .first_id = own_id(gathering)};
    struct book_day day = {0};
    if (gathering->wanted->input->kart != NULL &&
        isfinite(kw_profile_gearing(profile)))
        return KW_OK;
    const enum kw_status status =
        from_book_find(&gathering->from, &search, &day, gathering->error);
    if (day.entry != NULL) {
        gearing_of_setup(day.facts.setup, &profile->engine_teeth,
                         &profile->axle_teeth);
        struct kw_text *said = say(gathering);
        kw_text_add(said, "gearing ");
        kw_text_add_number(said, profile->engine_teeth, 0);
        kw_text_add(said, "/");
        kw_text_add_number(said, profile->axle_teeth, 0);
        add_from(said, &day);
    }
    book_day_free(&day);
    return status;
}

/* ---- reference and air --------------------------------------------------- */

/* What the air alone does to the same jet, so that a session that is leaner
 * than its reference is not blamed on a part. */
static enum kw_status say_air(struct gathering *gathering,
                              const struct kw_air *then)
{
    const char *typed = gathering->wanted->air;
    struct kw_air now = {NAN, NAN, NAN};
    enum kw_status status = KW_OK;
    if (typed != NULL)
        status = kw_air_parse(typed, &now, gathering->error);
    else if (gathering->own.entry != NULL)
        now = gathering->own.facts.air;
    if (status != KW_OK || isnan(now.temp_c) || isnan(then->temp_c))
        return status;
    const double change = kw_mixture_change_percent(kw_air_density_kg_m3(then),
                                                    kw_air_density_kg_m3(&now));
    struct kw_text *said = say(gathering);
    kw_text_add(said, "by the air alone the same jet runs ");
    kw_text_add_number(said, fabs(change), 1);
    kw_text_add(said, change < 0.0 ? " % leaner" : " % richer");
    kw_text_add(said, " than then");
    return KW_OK;
}

/* A jet that was changed on purpose explains more than any fault. */
static enum kw_status take_changes(struct gathering *gathering,
                                   const struct book_day *day)
{
    struct kw_text since = {0};
    enum kw_status status = add_changes_since(
        &since, &gathering->from, day, gathering->own.entry, gathering->error);
    if (status == KW_OK && (since.length > 0 || kw_text_failed(&since))) {
        char *words = kw_text_take(&since, gathering->error);
        if (words == NULL)
            return KW_NO_MEMORY;
        struct kw_text *said = say(gathering);
        kw_text_add(said, "since then ");
        kw_text_add(said, words);
        gathering->out->since_reference = words;
    }
    kw_text_free(&since);
    return status;
}

static enum kw_status take_reference(struct gathering *gathering)
{
    const struct book_search search = {.need = NEED_GOOD_WITH_LOG,
                                       .kart = gathering->kart,
                                       .not_id = own_id(gathering)};
    struct review_sources *out = gathering->out;
    struct book_day day = {0};
    if (gathering->wanted->reference != NULL)
        return KW_OK;
    enum kw_status status =
        from_book_find(&gathering->from, &search, &day, gathering->error);
    if (status == KW_OK && day.entry == NULL) {
        kw_text_add(say(gathering),
                    "no other session of this kart without findings to hold "
                    "this one against");
    } else if (status == KW_OK) {
        status = from_book_session(&gathering->from, &day, &out->input,
                                   &out->reference, gathering->error);
        out->has_reference = status == KW_OK;
        out->from_book = status == KW_OK;
        kw_text_add(say(gathering),
                    "as reference the last session in which nothing was found");
        add_from(&gathering->said, &day);
        if (status == KW_OK)
            status = take_changes(gathering, &day);
        if (status == KW_OK)
            status = say_air(gathering, &day.facts.air);
    }
    book_day_free(&day);
    return status;
}

/* ---- all of it ----------------------------------------------------------- */

/* A book of several karts: the one that this log was filed with, else the one
 * that was out last. */
static enum kw_status settle_kart(struct gathering *gathering)
{
    const struct book_search search = {.need = NEED_SESSION};
    const struct kw_entry *entry = gathering->own.entry;
    struct book_day newest = {0};
    enum kw_status status = KW_OK;
    if (entry == NULL) {
        status = from_book_find(&gathering->from, &search, &newest,
                                gathering->error);
        entry = newest.entry;
    }
    gathering->kart = entry == NULL ? NULL : entry->kart;
    book_day_free(&newest);
    return status;
}

/* Kart before gearing before reference: each is looked for among the sessions
 * of the kart that was settled first. */
enum kw_status review_sources_open(const struct review_wanted *wanted,
                                   struct review_sources *out,
                                   struct kw_error *error)
{
    struct gathering gathering = {.wanted = wanted, .out = out, .error = error};
    *out = (struct review_sources){0};
    if (wanted->book == NULL)
        return input_open(&out->input, wanted->input, error);
    enum kw_status status =
        from_book_open(wanted->book, &gathering.from, error);
    if (status == KW_OK && !kw_logbook_exists(gathering.from.book))
        status =
            kw_fail(error, KW_BAD_INPUT, NULL, 0, "there is no logbook yet",
                    "file a session with 'kartwright logbook add'");
    if (status == KW_OK)
        status = from_book_day_of(&gathering.from, wanted->log, &gathering.own,
                                  error);
    if (status == KW_OK)
        status = settle_kart(&gathering);
    if (status == KW_OK)
        status = take_kart(&gathering);
    if (status == KW_OK && wanted->input->kart != NULL &&
        out->input.profile.name != NULL)
        gathering.kart = out->input.profile.name;
    if (status == KW_OK)
        status = take_gearing(&gathering);
    if (status == KW_OK)
        status = tell(&gathering);
    if (status == KW_OK)
        status = take_reference(&gathering);
    if (status == KW_OK)
        status = tell(&gathering);
    kw_text_free(&gathering.said);
    book_day_free(&gathering.own);
    from_book_close(&gathering.from);
    return status;
}

void review_sources_free(struct review_sources *sources)
{
    kw_notices_free(&sources->notices);
    kw_session_free(&sources->reference);
    free(sources->since_reference);
    input_close(&sources->input);
    *sources = (struct review_sources){0};
}
