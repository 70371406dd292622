/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How the report names things. The tables are in the order of the enums, and a
 * value outside one gives "": a report is still written then.
 *
 * Words that programs read are promised and stay as they are. Words that
 * people read may be improved at any time: nothing but people may depend on
 * them. */
#include "words.h"

#include "core/number.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* The i-th of n words; "" for a value outside its enum. */
static const char *pick(const char *const *words, size_t n, size_t i)
{
    return i < n ? words[i] : "";
}

#define PICK(words, i)                                                         \
    pick(words, sizeof(words) / sizeof(words)[0], (size_t)(i))

/* Each table below is in the order of its enum; the contract's words are never
 * translated or improved. */
const char *kw_name_lap_method(enum kw_lap_method method)
{
    static const char *const words[] = {"none", "column", "position", "speed",
                                        "rpm"};
    return PICK(words, method);
}

/* The words of the contract, in the order of each enum: never to be changed. */
const char *kw_name_lap_kind(enum kw_lap_kind kind)
{
    static const char *const words[] = {"out", "flying", "in"};
    return PICK(words, kind);
}

const char *kw_name_event_kind(enum kw_event_kind kind)
{
    static const char *const words[] = {
        "lean",          "clutch_engagement", "dropout",    "rich",
        "air_leak",      "clutch_slip",       "chain_jump", "exhaust_leak",
        "seizure_onset", "probe_fault"};
    return PICK(words, kind);
}

const char *kw_name_region(enum kw_rpm_region region)
{
    static const char *const words[] = {"low", "middle", "top"};
    return PICK(words, region);
}

const char *kw_name_basis(enum kw_basis basis)
{
    static const char *const words[] = {"limit", "session", "reference"};
    return PICK(words, basis);
}

const char *kw_name_clutch_method(enum kw_clutch_method method)
{
    static const char *const words[] = {"speed", "rpm"};
    return PICK(words, method);
}

const char *kw_name_cause(enum kw_cause cause)
{
    static const char *const words[] = {"unclear", "loose_connection",
                                        "fuel_restriction"};
    return PICK(words, cause);
}

/* How soon, least first. */
const char *kw_name_urgency(enum kw_urgency urgency)
{
    static const char *const words[] = {"watch", "before_next_race",
                                        "before_next_run"};
    return PICK(words, urgency);
}

/* Worst last; a script may stop a kart on "do_not_run". What is not known has
 * no name: it becomes null. */
const char *kw_name_verdict(enum kw_verdict verdict)
{
    static const char *const words[] = {"nothing_stands_out", "keep_watching",
                                        "mend_before_race", "do_not_run", NULL};
    return PICK(words, verdict);
}

/* Completes "8 flying laps, ...". */
const char *kw_say_lap_method(enum kw_lap_method method)
{
    static const char *const words[] = {
        "no laps found", "from the lap column of the log",
        "from position, at the start/finish line", "from the pattern of speed",
        "from the pattern of RPM"};
    return PICK(words, method);
}

/* "suspected" where the log shows a sign and not the thing itself: RPM and EGT
 * see what a leak does, not the leak. */
const char *kw_say_event_kind(enum kw_event_kind kind)
{
    static const char *const words[] = {"lean",
                                        "clutch engagement",
                                        "drop-out",
                                        "rich",
                                        "air leak suspected",
                                        "clutch slips",
                                        "chain jump suspected",
                                        "exhaust leak suspected",
                                        "seizure may be coming on",
                                        "EGT probe fault"};
    return PICK(words, kind);
}

/* Where in the RPM range; the words that carburettor manuals use. */
const char *kw_say_region(enum kw_rpm_region region)
{
    static const char *const words[] = {"low end", "middle", "top end"};
    return PICK(words, region);
}

/* Short enough for the title of a plot. */
const char *kw_say_cause(enum kw_cause cause)
{
    static const char *const words[] = {"cause unclear", "loose connection",
                                        "fuel restriction"};
    return PICK(words, cause);
}

/* Completes "main jet: ...". */
const char *kw_say_urgency(enum kw_urgency urgency)
{
    static const char *const words[] = {"keep an eye on it",
                                        "before the next race",
                                        "before the engine runs again"};
    return PICK(words, urgency);
}

/* Says what this log shows, and never that an engine is healthy: two channels
 * cannot see a worn bearing. Used where the review has no words of its own. */
const char *kw_say_verdict(enum kw_verdict verdict)
{
    static const char *const words[] = {
        "Nothing in this log speaks against running the engine again.",
        "Small things to keep an eye on; nothing in this log speaks against "
        "running the engine again.",
        "The engine can run, but see to the points below before the next "
        "race.",
        "Do not run the engine again before the points below that must come "
        "first are seen to.",
        "This log cannot say whether the engine is fit to run again."};
    return PICK(words, verdict);
}

/* Kind first, then what tells it apart from others of its kind. */
void kw_add_event_title(struct kw_text *text, const struct kw_event *event)
{
    kw_text_add(text, kw_say_event_kind(event->kind));
    if (event->kind == KW_LEAN)
        kw_text_addf(text, ", %s", kw_say_region(event->detail.lean.region));
    if (event->kind == KW_DROPOUT)
        kw_text_addf(text, ", %s", kw_say_cause(event->detail.dropout.cause));
}

/* ASCII only: our own sentences begin with nothing else. */
void kw_add_capital(struct kw_text *text, const char *words)
{
    const bool small = words[0] >= 'a' && words[0] <= 'z';
    const char first = (char)(small ? words[0] - 'a' + 'A' : words[0]);
    if (first == '\0')
        return;
    kw_text_add_bytes(text, &first, 1);
    kw_text_add(text, words + 1);
}

/* As a stop-watch has it, "0:51.24"; hours only where there are any. NAN is a
 * dash: the table keeps its shape. */
void kw_add_clock(struct kw_text *text, double seconds, int decimals)
{
    if (!isfinite(seconds)) {
        kw_text_add(text, "-");
        return;
    }
    /* Rounded before it is split, so that 59.97 is 1:00.0 and not 0:60.0. */
    const double step = pow(10.0, -decimals);
    const double rounded = round(fabs(seconds) / step) * step;
    const double minutes = floor((rounded + step / 4.0) / 60.0);
    const double rest = fmax(0.0, rounded - minutes * 60.0);
    const double hours = floor(minutes / 60.0);
    if (seconds < 0.0 && rounded > 0.0)
        kw_text_add(text, "-");
    if (hours > 0.0) {
        kw_text_add_number(text, hours, 0);
        kw_text_add(text, minutes - hours * 60.0 < 10.0 ? ":0" : ":");
    }
    kw_text_add_number(text, minutes - hours * 60.0, 0);
    kw_text_add(text, rest < 10.0 - step / 4.0 ? ":0" : ":");
    kw_text_add_number(text, rest, decimals);
}

/* Two units at most: nobody needs the seconds of ten hours. */
void kw_add_duration(struct kw_text *text, double seconds)
{
    if (!isfinite(seconds)) {
        kw_text_add(text, "-");
        return;
    }
    if (seconds < 59.5) {
        kw_text_add_number(text, seconds, seconds < 9.95 ? 1 : 0);
        kw_text_add(text, " s");
        return;
    }
    const bool long_time = seconds >= 3599.5;
    const double unit_s = long_time ? 60.0 : 1.0;
    const double small = round(seconds / unit_s);
    const double big = floor(small / 60.0);
    kw_text_add_number(text, big, 0);
    kw_text_add(text, long_time ? " h " : " min ");
    kw_text_add_number(text, small - big * 60.0, 0);
    kw_text_add(text, long_time ? " min" : " s");
}

/* How much there was to judge by. The rate as it was set in the logger, in
 * whole numbers; slow ones may have a half. */
void kw_add_log_size(struct kw_text *text, const struct kw_log *log)
{
    kw_text_add_whole(text, (double)log->data_rows);
    kw_text_add(text, " rows over ");
    kw_add_duration(text, log->duration_s);
    if (isfinite(log->sample_rate_hz)) {
        const double rate_hz = log->sample_rate_hz;
        const bool is_whole =
            rate_hz >= 9.95 ||
            (rate_hz >= 0.95 && fabs(rate_hz - round(rate_hz)) < 0.05);
        kw_text_add(text, ", ");
        kw_text_add_number(text, rate_hz, is_whole ? 0 : 1);
        kw_text_add(text, " each second");
    }
    if (log->rows_rejected > 0) {
        kw_text_add(text, "; left out: ");
        kw_text_add_whole(text, (double)log->rows_rejected);
    }
    kw_text_add(text, ".");
}

/* No start was seen of an engine that ran before the log, and none of one that
 * never ran: only the first was running. */
void kw_add_running(struct kw_text *text, const struct kw_running *running)
{
    if (!(running->seconds > 0.0)) {
        kw_text_add(text, "The engine did not run in the log. ");
        return;
    }
    kw_text_add(text, "The engine ran for ");
    kw_add_duration(text, running->seconds);
    if (running->starts == 0)
        kw_text_add(text, "; it was running when the log began, or was never "
                          "started in it. ");
    else if (running->starts == 1)
        kw_text_add(text, " and was started once in the log. ");
    else
        kw_text_addf(text, " and was started %zu times in the log. ",
                     running->starts);
}

/* Where " 3. " begins, or the end of the text. */
static const char *find_number(const char *from, unsigned number)
{
    char mark[16];
    snprintf(mark, sizeof mark, " %u. ", number);
    const char *found = strstr(from, mark);
    return found == NULL ? from + strlen(from) : found;
}

/* Only the number that comes next ends a step: "2.5 mm" or a "1. " inside does
 * not. */
const char *kw_next_step(const char **at, unsigned *number, size_t *length)
{
    char mark[16];
    const char *step = *at + strspn(*at, " ");
    if (*step == '\0')
        return NULL;
    snprintf(mark, sizeof mark, "%u. ", *number);
    if (strncmp(step, mark, strlen(mark)) == 0)
        step += strlen(mark);
    (*number)++;
    *at = find_number(step, *number);
    *length = (size_t)(*at - step);
    while (*length > 0 && step[*length - 1] == ' ')
        (*length)--;
    return step;
}

/* "0.000" would say that chance is ruled out, which no laps can do; and further
 * digits are those of the distribution's tail, not of the laps. */
void kw_add_p(struct kw_text *text, double p)
{
    static const double smallest = 0.001;
    if (p < smallest)
        kw_text_add(text, "below ");
    kw_text_add_number(text, p < smallest ? smallest : p, 3);
}

/* Which folder it lay in says little and may say too much: a page is sent
 * on. */
const char *kw_file_name_of(const char *path)
{
    if (path == NULL || strcmp(path, "-") == 0)
        return "standard input";
    const char *slash = strrchr(path, '/');
    return slash == NULL ? path : slash + 1;
}

/* From m/s to the km/h of a dash: 3.6. */
void kw_add_gearing(struct kw_text *text, double locked_rpm_per_m_s)
{
    /* Profiles of tests and of other programs may leave it at 0. */
    if (!(locked_rpm_per_m_s > 0.0))
        return;
    kw_text_add(text, " Clutch locked: ");
    kw_text_add_number(text, locked_rpm_per_m_s / 3.6, 0);
    kw_text_add(text, " RPM for each km/h.");
}
