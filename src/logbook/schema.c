/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables, migrations and views.
 *
 * Rows of `entry` are never changed or deleted. A wrong date gets a row in
 * `correction`, a wrong entry one in `withdrawal`. No sum of hours is stored
 * anywhere: the views work it out.
 *
 * Version 2 brought what the owner sets: the round of checks, lives of parts,
 * second looks. It adds tables and a column and rewrites no row of version 1.
 */
#include "logbook/schema.h"

/* steps[i] leads from version i to i + 1. A step that was once released is
 * never edited: books of that version are out there. */
static const char *const steps[] = {
    "PRAGMA application_id = 1264020578;" /* 0x4B576C62 */
    "CREATE TABLE entry("
    " id INTEGER PRIMARY KEY AUTOINCREMENT,"
    " kind TEXT NOT NULL CHECK(kind IN ('session', 'note', 'fit', 'remove',"
    "  'watch', 'close', 'finding')),"
    " at_s REAL NOT NULL,"
    " source TEXT NOT NULL CHECK(source IN ('given', 'log', 'file', 'now')),"
    " written_s REAL NOT NULL,"
    " kart TEXT,"
    " title TEXT NOT NULL,"
    " text TEXT NOT NULL) STRICT;"
    "CREATE INDEX entry_kind ON entry(kind);"
    "CREATE TABLE correction("
    " id INTEGER PRIMARY KEY AUTOINCREMENT,"
    " entry_id INTEGER NOT NULL REFERENCES entry(id),"
    " at_s REAL NOT NULL,"
    " written_s REAL NOT NULL,"
    " reason TEXT NOT NULL) STRICT;"
    "CREATE INDEX correction_entry ON correction(entry_id);"
    "CREATE TABLE withdrawal("
    " entry_id INTEGER PRIMARY KEY REFERENCES entry(id),"
    " written_s REAL NOT NULL,"
    " reason TEXT NOT NULL) STRICT;"
    "CREATE TABLE session("
    " entry_id INTEGER PRIMARY KEY REFERENCES entry(id),"
    " log_name TEXT NOT NULL,"
    " log_sha256 BLOB NOT NULL CHECK(length(log_sha256) = 32),"
    " log_bytes INTEGER NOT NULL,"
    " running_s REAL NOT NULL,"
    " starts INTEGER NOT NULL,"
    " revolutions REAL,"
    " n_laps INTEGER NOT NULL,"
    " best_lap_s REAL,"
    " rpm_max REAL,"
    " egt_max_c REAL,"
    " verdict INTEGER NOT NULL,"
    " verdict_text TEXT NOT NULL,"
    " setup TEXT,"
    " air_temp_c REAL,"
    " air_pressure_pa REAL,"
    " air_humidity REAL) STRICT;"
    "CREATE INDEX session_log ON session(log_sha256);"
    "CREATE TABLE measure("
    " session_id INTEGER NOT NULL REFERENCES session(entry_id),"
    " name TEXT NOT NULL,"
    " value REAL NOT NULL,"
    " PRIMARY KEY(session_id, name)) STRICT, WITHOUT ROWID;"
    "CREATE TABLE finding("
    " entry_id INTEGER PRIMARY KEY REFERENCES entry(id),"
    " session_id INTEGER NOT NULL REFERENCES session(entry_id),"
    " rank INTEGER NOT NULL,"
    " urgency INTEGER NOT NULL CHECK(urgency BETWEEN 0 AND 2),"
    " check_steps TEXT NOT NULL,"
    " caution TEXT NOT NULL) STRICT;"
    "CREATE INDEX finding_session ON finding(session_id);"
    "CREATE TABLE fit("
    " entry_id INTEGER PRIMARY KEY REFERENCES entry(id),"
    " part TEXT NOT NULL,"
    " name TEXT,"
    " life_h REAL CHECK(life_h > 0),"
    " life_days REAL CHECK(life_days > 0),"
    " life_from_list INTEGER NOT NULL CHECK(life_from_list IN (0, 1)),"
    " hours_so_far REAL NOT NULL CHECK(hours_so_far >= 0),"
    " lead_s REAL NOT NULL CHECK(lead_s >= 0),"
    " registered INTEGER NOT NULL CHECK(registered IN (0, 1))) STRICT;"
    "CREATE TABLE removal("
    " entry_id INTEGER PRIMARY KEY REFERENCES entry(id),"
    " fit_id INTEGER NOT NULL REFERENCES fit(entry_id)) STRICT;"
    "CREATE INDEX removal_fit ON removal(fit_id);"
    "CREATE TABLE watch("
    " entry_id INTEGER PRIMARY KEY REFERENCES entry(id),"
    " fit_id INTEGER REFERENCES fit(entry_id),"
    " make_do INTEGER NOT NULL CHECK(make_do IN (0, 1))) STRICT;"
    "CREATE TABLE closing("
    " entry_id INTEGER PRIMARY KEY REFERENCES entry(id),"
    " target_id INTEGER NOT NULL REFERENCES entry(id)) STRICT;"
    "CREATE INDEX closing_target ON closing(target_id);"
    "CREATE TABLE content("
    " id INTEGER PRIMARY KEY,"
    " sha256 BLOB NOT NULL UNIQUE CHECK(length(sha256) = 32),"
    " n_bytes INTEGER NOT NULL,"
    " bytes BLOB NOT NULL,"
    " CHECK(length(bytes) = n_bytes)) STRICT;"
    "CREATE TABLE attachment("
    " id INTEGER PRIMARY KEY AUTOINCREMENT,"
    " entry_id INTEGER NOT NULL REFERENCES entry(id),"
    " name TEXT NOT NULL,"
    " content_id INTEGER NOT NULL REFERENCES content(id)) STRICT;"
    "CREATE INDEX attachment_entry ON attachment(entry_id);",

    /* Ticks, checks and lives are notes, with a row here for what they mean:
     * the kinds of entries are the contract's and get no new ones. */
    "CREATE TABLE tick("
    " entry_id INTEGER NOT NULL REFERENCES entry(id),"
    " item TEXT NOT NULL,"
    " outcome TEXT NOT NULL CHECK(outcome IN ('done', 'skipped', 'never')),"
    " PRIMARY KEY(entry_id, item)) STRICT, WITHOUT ROWID;"
    "CREATE TABLE own_check("
    " entry_id INTEGER PRIMARY KEY REFERENCES entry(id)) STRICT;"
    "CREATE TABLE own_life("
    " entry_id INTEGER PRIMARY KEY REFERENCES entry(id),"
    " part TEXT NOT NULL,"
    " life_h REAL CHECK(life_h > 0),"
    " life_days REAL CHECK(life_days > 0)) STRICT;"
    "ALTER TABLE watch ADD COLUMN after_run INTEGER NOT NULL DEFAULT 0"
    " CHECK(after_run IN (0, 1));",

    /* A list of a thousand sessions read a page of content for each plot, only
     * to tell its size. */
    "CREATE INDEX content_facts ON content(id, n_bytes, sha256);",
};

enum { NEWEST = sizeof steps / sizeof steps[0] };

/* live     entries that count: not withdrawn, with their last date. Entries
 *          without a kart belong to the one that was named first.
 * stint    parts, with the time from and to which they were on the kart.
 * outing   live sessions. */
static const char views[] =
    "CREATE TEMP VIEW live AS SELECT e.id AS id, e.kind AS kind,"
    " COALESCE((SELECT c.at_s FROM correction c WHERE c.entry_id = e.id"
    "  ORDER BY c.id DESC LIMIT 1), e.at_s) AS at_s,"
    " EXISTS (SELECT 1 FROM correction c WHERE c.entry_id = e.id) AS corrected,"
    " e.source AS source,"
    " COALESCE(e.kart, (SELECT k.kart FROM main.entry k"
    "  WHERE k.kart IS NOT NULL AND NOT EXISTS"
    "  (SELECT 1 FROM withdrawal w WHERE w.entry_id = k.id)"
    "  ORDER BY k.id LIMIT 1)) AS kart,"
    " e.title AS title, e.text AS text"
    " FROM main.entry e WHERE NOT EXISTS"
    " (SELECT 1 FROM withdrawal w WHERE w.entry_id = e.id);"
    "CREATE TEMP VIEW stint AS SELECT l.id AS id, l.kart AS kart,"
    " f.part AS part, f.name AS name, f.life_h AS life_h,"
    " f.life_days AS life_days, f.life_from_list AS life_from_list,"
    " f.hours_so_far AS hours_so_far,"
    " f.registered AS registered, l.at_s AS at_s,"
    " l.at_s - CASE WHEN l.corrected THEN 0 ELSE f.lead_s END AS from_s,"
    " (SELECT MIN(r.at_s) FROM removal m JOIN live r ON r.id = m.entry_id"
    "  WHERE m.fit_id = l.id) AS to_s"
    " FROM main.fit f JOIN live l ON l.id = f.entry_id;"
    "CREATE TEMP VIEW outing AS SELECT l.id AS id, l.kart AS kart,"
    " l.at_s AS at_s, s.running_s AS running_s,"
    " s.revolutions AS revolutions, s.verdict AS verdict"
    " FROM main.session s JOIN live l ON l.id = s.entry_id;";

int kw_book_newest_version(void)
{
    return NEWEST;
}

/* The version is written last: a step that was cut off is not there at all. */
enum kw_status kw_book_migrate(struct kw_logbook *book,
                               int from_version,
                               struct kw_error *error)
{
    enum kw_status status = KW_OK;
    for (int i = from_version; i < NEWEST && status == KW_OK; i++)
        status = kw_book_run(book, steps[i], error);
    if (status != KW_OK)
        return status;
    char sql[64];
    sqlite3_snprintf((int)sizeof sql, sql, "PRAGMA user_version = %d", NEWEST);
    return kw_book_run(book, sql, error);
}

enum kw_status kw_book_make_views(struct kw_logbook *book,
                                  struct kw_error *error)
{
    return kw_book_run(book, views, error);
}
