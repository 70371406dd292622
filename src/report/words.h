/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How the report names things: the contract's words for programs, plain ones
 * for people. Unknown values give constant text too, never NULL. */
#ifndef KARTWRIGHT_REPORT_WORDS_H
#define KARTWRIGHT_REPORT_WORDS_H

#include "core/text.h"
#include "kartwright/review.h"

/* The words of the JSON contract. */
const char *kw_name_lap_method(enum kw_lap_method method);
const char *kw_name_lap_kind(enum kw_lap_kind kind);
const char *kw_name_event_kind(enum kw_event_kind kind);
const char *kw_name_region(enum kw_rpm_region region);
const char *kw_name_basis(enum kw_basis basis);
const char *kw_name_clutch_method(enum kw_clutch_method method);
const char *kw_name_cause(enum kw_cause cause);
const char *kw_name_urgency(enum kw_urgency urgency);
const char *kw_name_verdict(enum kw_verdict verdict); /* NULL: not known */

/* The same for a person. */
const char *kw_say_lap_method(enum kw_lap_method method);
const char *kw_say_event_kind(enum kw_event_kind kind);
const char *kw_say_region(enum kw_rpm_region region);
const char *kw_say_cause(enum kw_cause cause);
const char *kw_say_urgency(enum kw_urgency urgency);

/* The verdict as a sentence, for a review that has no text of its own. */
const char *kw_say_verdict(enum kw_verdict verdict);

/* "lean at the top end", "drop-out, loose connection". */
void kw_add_event_title(struct kw_text *text, const struct kw_event *event);

/* The words with a capital letter at their beginning. */
void kw_add_capital(struct kw_text *text, const char *words);

/* A time in the log as a clock shows it: "5:01.2", "1:02:03.0". */
void kw_add_clock(struct kw_text *text, double seconds, int decimals);

/* A length of time in words: "9 min 21 s", "1 h 02 min", "0.8 s". */
void kw_add_duration(struct kw_text *text, double seconds);

/* "14,080 rows over 9 min 23 s, 25 each second; left out: 12." */
void kw_add_log_size(struct kw_text *text, const struct kw_log *log);

/* "The engine ran for 9 min 48 s and was started once in the log. " */
void kw_add_running(struct kw_text *text, const struct kw_running *running);

/* How easily chance alone would show as much: "0.012", "below 0.001"; NAN gives
 * "-". */
void kw_add_p(struct kw_text *text, double p);

/* Splits "1. Look. 2. Touch." into its steps; text without numbers is one step.
 *
 * at       where the search begins; moved behind the step.
 * number   1 for the first step; counted up.
 * length   bytes of the step, without its number and outer blanks.
 * returns  the step, or NULL when there is none left. */
const char *kw_next_step(const char **at, unsigned *number, size_t *length);

/* The last part of a path, "session.csv"; "standard input" for "-". */
const char *kw_file_name_of(const char *path);

/* " Clutch locked: 139 RPM for each km/h." where the log shows it, else
 * nothing: the gearing that was driven, in the numbers on the dash. */
void kw_add_gearing(struct kw_text *text, double locked_rpm_per_m_s);

#endif
