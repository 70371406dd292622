/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a new session says about what was found and dealt with before: told when
 * the log is added, for that is when the person wants to know whether the
 * evening's work was the cure. */
#include "core/notices.h"
#include "logbook/due.h"
#include "logbook/story.h"

/* So many clean sessions are told, then the story is over: a list that repeats
 * last season's cures is not read (common practice, no source). */
enum { CLEAN_SESSIONS_TOLD = 3 };

/* What one session is held against. */
struct follow_up {
    const struct kw_outings *outings;
    const struct kw_parts *parts;
    int64_t session_id;
    double at_s;
    const char *kart;
    struct kw_notices *lines;
};

/* Whatever of the story is later than the session is not known to it: a log
 * that is added late is told as of its own day. */
static struct kw_story up_to(const struct kw_story *story, double at_s)
{
    struct kw_story then = *story;
    while (then.n > 0 && then.items[then.n - 1].at_s > at_s)
        then.n--;
    return then;
}

/* In sessions and not in days: a fault shows when the kart runs. */
static void add_count(struct kw_text *line,
                      const struct follow_up *follow,
                      double after_s)
{
    kw_due_add_sessions(line, kw_outings_count(follow->outings, follow->kart,
                                               after_s, follow->at_s));
}

static void add_part(struct kw_text *line, const struct kw_part *part)
{
    kw_text_addf(line, " the %s was fitted (", part->part);
    kw_due_add_date(line, part->from_s);
    kw_text_add(line, ")");
}

/* In the words with which it was closed: the person knows them again. */
static void add_closing(struct kw_text *line, const struct kw_found *closing)
{
    kw_text_add(line, " it was closed");
    if (closing->close_text != NULL && closing->close_text[0] != '\0')
        kw_text_addf(line, " (%s)", closing->close_text);
}

/* Found in this session: "back, 2 sessions after it was closed (filter
 * replaced)", or "again, 2 sessions after the fuel filter was fitted".
 *
 * before  the finding before this session's, or NULL. */
static void say_found(struct kw_text *line,
                      const struct follow_up *follow,
                      const struct kw_story *story,
                      const struct kw_found *before)
{
    if (before == NULL)
        return;
    const struct kw_part *part =
        kw_story_last_fitted(follow->parts, before, before->at_s, follow->at_s);
    if (story->closing != NULL && story->closed_s >= before->at_s &&
        story->closed_s < follow->at_s) {
        kw_text_addf(line, "%s: back, ", before->title);
        add_count(line, follow, story->closed_s);
        kw_text_add(line, " after");
        add_closing(line, story->closing);
    } else if (part != NULL) {
        kw_text_addf(line, "%s: again, ", before->title);
        add_count(line, follow, part->from_s);
        kw_text_add(line, " after");
        add_part(line, part);
    }
}

/* Not found in this session, after something was done about it. */
static void say_not_found(struct kw_text *line,
                          const struct follow_up *follow,
                          const struct kw_story *story,
                          const struct kw_found *last)
{
    const struct kw_part *part =
        kw_story_last_fitted(follow->parts, last, last->at_s, follow->at_s);
    const bool closed = story->closing != NULL && story->closed_s >= last->at_s;
    const double since_s = part != NULL ? part->from_s : last->at_s;
    const size_t n_since =
        kw_outings_count(follow->outings, follow->kart, since_s, follow->at_s);
    if ((part == NULL && !closed) || n_since == 0 ||
        n_since > CLEAN_SESSIONS_TOLD)
        return;
    kw_text_addf(line, "%s: gone, not found in ", last->title);
    kw_due_add_the_sessions(line, n_since);
    kw_text_add(line, " since");
    if (part != NULL)
        add_part(line, part);
    else
        add_closing(line, story->closing);
}

/* Of this kart alone: another's chain is another chain. */
static enum kw_status follow_story(const struct follow_up *follow,
                                   const struct kw_story *whole,
                                   struct kw_error *error)
{
    const struct kw_story story = up_to(whole, follow->at_s);
    if (story.n == 0 || !kw_same_kart(story.items[0].kart, follow->kart))
        return KW_OK;
    struct kw_text line = {0};
    const struct kw_found *last = &story.items[story.n - 1];
    if (last->session_id == follow->session_id)
        say_found(&line, follow, &story, story.n > 1 ? last - 1 : NULL);
    else
        say_not_found(&line, follow, &story, last);
    return kw_notices_tell(follow->lines, 0, &line, error);
}

/* Read once for all stories; adding a log of a long season must stay quick. */
static enum kw_status follow_all(struct kw_logbook *book,
                                 struct follow_up *follow,
                                 struct kw_error *error)
{
    struct kw_outings outings = {0};
    struct kw_parts parts = {0};
    struct kw_finds finds = {0};
    struct kw_story story;
    follow->outings = &outings;
    follow->parts = &parts;
    enum kw_status status = kw_outings_read(book, &outings, error);
    if (status == KW_OK)
        status = kw_logbook_parts(book, &parts, error);
    if (status == KW_OK)
        status = kw_finds_read(book, &finds, error);
    for (size_t from = 0;
         status == KW_OK && kw_story_next(&finds, &from, &story);)
        status = follow_story(follow, &story, error);
    kw_finds_free(&finds);
    kw_parts_free(&parts);
    kw_outings_free(&outings);
    return status;
}

/* Asked after the session is in the book, so that it is one of those that
 * count. */
enum kw_status kw_logbook_follow_up(struct kw_logbook *book,
                                    int64_t session_id,
                                    struct kw_notices *lines,
                                    struct kw_error *error)
{
    struct kw_entries entry;
    enum kw_status status = kw_logbook_entry(book, session_id, &entry, error);
    if (status == KW_OK) {
        struct follow_up follow = {.session_id = session_id,
                                   .at_s = entry.items[0].at_s,
                                   .kart = entry.items[0].kart,
                                   .lines = lines};
        status = follow_all(book, &follow, error);
    }
    kw_entries_free(&entry);
    return status;
}
