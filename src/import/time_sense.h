/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Does a time whose unit was told by its steps make a session of a kart? */
#ifndef KARTWRIGHT_IMPORT_TIME_SENSE_H
#define KARTWRIGHT_IMPORT_TIME_SENSE_H

#include "import/time_form.h"
#include "kartwright/log.h"

/* Refuses a log whose engine would be none of a kart, or whose session none of
 * a person, in the unit that was guessed. A stated unit is believed.
 *
 * log      with its clock and its channels.
 * form     in which the time was taken.
 * returns  KW_OK; KW_BAD_INPUT; KW_NO_MEMORY. */
enum kw_status kw_time_sense_check(const struct kw_log *log,
                                   const struct kw_time_form *form,
                                   struct kw_error *error);

#endif
