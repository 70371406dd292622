/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Entries of the logbook as other programs read them. */
#ifndef KARTWRIGHT_CLI_ENTRY_JSON_H
#define KARTWRIGHT_CLI_ENTRY_JSON_H

#include "core/json.h"
#include "kartwright/logbook.h"

/* Opens {"format": "kartwright-logbook", ... "entries": [ and closes it. */
void entries_json_begin(struct kw_json *json);
void entries_json_end(struct kw_json *json);

/* One entry as an object of the list.
 *
 * facts     of a session, or NULL.
 * findings  of a session, or NULL. */
void entry_json(struct kw_json *json,
                const struct kw_entry *entry,
                const struct kw_session_facts *facts,
                const struct kw_entries *findings);

#endif
