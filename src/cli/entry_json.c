/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The contract's list of entries, with a little more in each. */
#include "cli/entry_json.h"

#include "core/local_time.h"

#include <math.h>

/* The version counts changes that would break a reader, not additions. */
void entries_json_begin(struct kw_json *json)
{
    kw_json_open(json, NULL, KW_JSON_OBJECT);
    kw_json_string(json, "format", "kartwright-logbook");
    kw_json_count(json, "version", 1);
    kw_json_open(json, "entries", KW_JSON_LIST);
}

void entries_json_end(struct kw_json *json)
{
    kw_json_close(json);
    kw_json_close(json);
}

/* The sum lets a person check a file that was written out with any other
 * tool. */
static void write_attachments(struct kw_json *json,
                              const struct kw_entry *entry)
{
    kw_json_open(json, "attachments", KW_JSON_LIST);
    for (size_t i = 0; i < entry->n_attachments; i++) {
        const struct kw_attachment *attachment = &entry->attachments[i];
        kw_json_open(json, NULL, KW_JSON_ROW);
        kw_json_string(json, "name", attachment->name);
        kw_json_count(json, "bytes", (size_t)attachment->n_bytes);
        kw_json_string(json, "sha256", attachment->sha256);
        kw_json_close(json);
    }
    kw_json_close(json);
}

/* Our units, as everywhere in JSON: pascal, fractions, seconds. */
static void write_facts(struct kw_json *json,
                        const struct kw_session_facts *facts)
{
    kw_json_string(json, "log", facts->log_name);
    kw_json_number(json, "revolutions", facts->revolutions, 0);
    kw_json_count(json, "laps", (size_t)facts->n_laps);
    kw_json_number(json, "best_lap_s", facts->best_lap_s, 3);
    kw_json_number(json, "rpm_max", facts->rpm_max, 0);
    kw_json_number(json, "egt_max_c", facts->egt_max_c, 1);
    kw_json_string(json, "verdict", facts->verdict_text);
    kw_json_string(json, "setup", facts->setup);
    /* Air is given whole or not at all. */
    if (isnan(facts->air.temp_c)) {
        kw_json_null(json, "air");
        return;
    }
    kw_json_open(json, "air", KW_JSON_ROW);
    kw_json_number(json, "temp_c", facts->air.temp_c, 1);
    kw_json_number(json, "pressure_pa", facts->air.pressure_pa, 0);
    kw_json_number(json, "humidity", facts->air.humidity, 3);
    kw_json_close(json);
}

/* What to check is not repeated here: 'show' of the finding's own number has
 * it. */
static void write_findings(struct kw_json *json,
                           const struct kw_entries *findings)
{
    kw_json_open(json, "findings", KW_JSON_LIST);
    for (size_t i = 0; i < findings->n; i++) {
        kw_json_open(json, NULL, KW_JSON_OBJECT);
        kw_json_count(json, "id", (size_t)findings->items[i].id);
        kw_json_string(json, "part", findings->items[i].title);
        kw_json_string(json, "why", findings->items[i].text);
        kw_json_close(json);
    }
    kw_json_close(json);
}

void entry_json(struct kw_json *json,
                const struct kw_entry *entry,
                const struct kw_session_facts *facts,
                const struct kw_entries *findings)
{
    char date[KW_LOCAL_TIME_SIZE];
    kw_json_open(json, NULL, KW_JSON_OBJECT);
    kw_json_count(json, "id", (size_t)entry->id);
    kw_json_string(json, "date", kw_local_time_print(date, entry->at_s, true));
    kw_json_string(json, "date_from", kw_date_source_name(entry->source));
    kw_json_string(json, "kind", kw_entry_kind_name(entry->kind));
    kw_json_string(json, "title", entry->title);
    kw_json_string(json, "text", entry->text);
    kw_json_string(json, "kart", entry->kart);
    /* 0 is no entry's number. */
    if (entry->about_id != 0)
        kw_json_count(json, "about", (size_t)entry->about_id);
    else
        kw_json_null(json, "about");
    kw_json_number(json, "running_s", entry->running_s, 3);
    write_attachments(json, entry);
    if (facts != NULL)
        write_facts(json, facts);
    if (findings != NULL)
        write_findings(json, findings);
    kw_json_close(json);
}
