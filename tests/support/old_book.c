/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A book as the program of version 1 left it, in the words of the sqlite3
 * shell's .dump: parts, a session with a finding, an attachment, a date put
 * right and an entry withdrawn. It was filled by that program from a sample log
 * and is never made anew: what it holds is what is out there. */
#include "support/old_book.h"

#include "support/check.h"

#include <sqlite3.h>

/* One statement each: C promises no string literal longer than 4095 bytes. */
static const char *const version_1[] = {
    "PRAGMA user_version = 1;",
    "PRAGMA application_id = 1264020578;",
    "BEGIN TRANSACTION;",
    "CREATE TABLE attachment( id INTEGER PRIMARY KEY AUTOINCREMENT,"
    " entry_id INTEGER NOT NULL REFERENCES entry(id), name TEXT NOT"
    " NULL, content_id INTEGER NOT NULL REFERENCES content(id)) STRICT;",
    "INSERT INTO \"attachment\" VALUES(1,6,'receipt.txt',1);",
    "CREATE TABLE closing( entry_id INTEGER PRIMARY KEY REFERENCES"
    " entry(id), target_id INTEGER NOT NULL REFERENCES entry(id))"
    " STRICT;",
    "INSERT INTO \"closing\" VALUES(9,5);",
    "CREATE TABLE content( id INTEGER PRIMARY KEY, sha256 BLOB NOT"
    " NULL UNIQUE CHECK(length(sha256) = 32), n_bytes INTEGER NOT"
    " NULL, bytes BLOB NOT NULL, CHECK(length(bytes) = n_bytes))"
    " STRICT;",
    "INSERT INTO \"content\""
    " VALUES(1,X'6AFD9C1CBF495F9221FE5F9D03D4F0E962BABD83FD293C696E6968"
    "6510611A63',8,X'726563656970740A');",
    "CREATE TABLE correction( id INTEGER PRIMARY KEY AUTOINCREMENT,"
    " entry_id INTEGER NOT NULL REFERENCES entry(id), at_s REAL NOT"
    " NULL, written_s REAL NOT NULL, reason TEXT NOT NULL) STRICT;",
    "INSERT INTO \"correction\""
    " VALUES(1,2,1781222400.0,1795798045.0,'fitted a day earlier');",
    "CREATE TABLE entry( id INTEGER PRIMARY KEY AUTOINCREMENT, kind"
    " TEXT NOT NULL CHECK(kind IN ('session', 'note', 'fit', 'remove',"
    "  'watch', 'close', 'finding')), at_s REAL NOT NULL, source TEXT"
    " NOT NULL CHECK(source IN ('given', 'log', 'file', 'now')),"
    " written_s REAL NOT NULL, kart TEXT, title TEXT NOT NULL, text"
    " TEXT NOT NULL) STRICT;",
    "INSERT INTO \"entry\" VALUES(1,'fit',1781308800.0,'given',1795798033"
    ".0,NULL,'clutch lining','');",
    "INSERT INTO \"entry\" VALUES(2,'fit',1781308800.0,'given',1795798033"
    ".0,NULL,'chain','');",
    "INSERT INTO \"entry\" VALUES(3,'fit',1781308800.0,'given',1795798033"
    ".0,NULL,'tyres (front)','');",
    "INSERT INTO \"entry\" VALUES(4,'session',1781436000.0,'given',179579"
    "8034.0,'Number 7','fuel-restriction.csv','flat at the top');",
    "INSERT INTO \"entry\" VALUES(5,'finding',1781436000.0,'given',179579"
    "8034.0,'Number 7','fuel line, filter and tank vent','Seen 5"
    " times, laps 7, 8, 9, 10 and 11. RPM went from 12960 to 13010 in"
    " 1.5 s, where this engine usually gains more, with the exhaust 59"
    " C hotter than in an ordinary pull.');",
    "INSERT INTO \"entry\" VALUES(6,'note',1781481600.0,'given',179579803"
    "4.0,'Number 7','fuel filter bought','fuel filter bought');",
    "INSERT INTO \"entry\" VALUES(7,'watch',1781460000.0,'given',17957980"
    "34.0,'Number 7','cable tie on the fuel line','cable tie on the"
    " fuel line');",
    "INSERT INTO \"entry\" VALUES(8,'remove',1781654399.0,'given',1795798"
    "034.0,'Number 7','clutch lining','lining glazed');",
    "INSERT INTO \"entry\" VALUES(9,'close',1781481600.0,'given',17957980"
    "45.0,'Number 7','fuel line, filter and tank vent','filter"
    " replaced');",
    "INSERT INTO \"entry\" VALUES(10,'note',1781481600.0,'given',17957980"
    "45.0,'Number 7','slip of the pen','slip of the pen');",
    "CREATE TABLE finding( entry_id INTEGER PRIMARY KEY REFERENCES"
    " entry(id), session_id INTEGER NOT NULL REFERENCES"
    " session(entry_id), rank INTEGER NOT NULL, urgency INTEGER NOT"
    " NULL CHECK(urgency BETWEEN 0 AND 2), check_steps TEXT NOT NULL,"
    " caution TEXT NOT NULL) STRICT;",
    "INSERT INTO \"finding\" VALUES(5,4,1,2,'1. Tank vent: blow through"
    " it, air must pass freely. 2. Fuel filter: clean, and its arrow"
    " points with the flow; replace it if in doubt, it is cheap. 3."
    " Fuel line: soft, no kink, no flat spot, no air bubbles; bend it,"
    " hairline cracks are bad. 4. Fuel pump: diaphragm flat and"
    " supple, pulse hose tight. 5. Carburettor inlet: screen and"
    " needle seat clean.','Engine off and cold. Keep fuel away from"
    " heat and sparks, wear gloves and glasses. A starved engine runs"
    " lean and can seize. Put a tray under the line before you pull it"
    " off, wipe up what runs out, and look for leaks before"
    " starting.');",
    "CREATE TABLE fit( entry_id INTEGER PRIMARY KEY REFERENCES"
    " entry(id), part TEXT NOT NULL, name TEXT, life_h REAL"
    " CHECK(life_h > 0), life_days REAL CHECK(life_days > 0),"
    " life_from_list INTEGER NOT NULL CHECK(life_from_list IN (0, 1)),"
    " hours_so_far REAL NOT NULL CHECK(hours_so_far >= 0), lead_s REAL"
    " NOT NULL CHECK(lead_s >= 0), registered INTEGER NOT NULL"
    " CHECK(registered IN (0, 1))) STRICT;",
    "INSERT INTO \"fit\" VALUES(1,'clutch"
    " lining',NULL,8.0,NULL,0,0.0,0.0,0);",
    "INSERT INTO \"fit\" VALUES(2,'chain',NULL,10.0,NULL,1,0.0,0.0,0);",
    "INSERT INTO \"fit\" VALUES(3,'tyres','front',3.0,NULL,1,1.5,0.0,1);",
    "CREATE TABLE measure( session_id INTEGER NOT NULL REFERENCES"
    " session(entry_id), name TEXT NOT NULL, value REAL NOT NULL,"
    " PRIMARY KEY(session_id, name)) STRICT, WITHOUT ROWID;",
    "INSERT INTO \"measure\""
    " VALUES(4,'clutch_engagement_s',4.72889218424417734354e+00);",
    "INSERT INTO \"measure\""
    " VALUES(4,'dropouts_per_h',3.21796338672772748164e+01);",
    "INSERT INTO \"measure\" VALUES(4,'egt_top_c',541.0);",
    "INSERT INTO \"measure\""
    " VALUES(4,'lap_spread_percent',5.06203474351381133011e-01);",
    "INSERT INTO \"measure\" VALUES(4,'lean_s_per_h',0.0);",
    "INSERT INTO \"measure\" VALUES(4,'rpm_top',13230.0);",
    "CREATE TABLE removal( entry_id INTEGER PRIMARY KEY REFERENCES"
    " entry(id), fit_id INTEGER NOT NULL REFERENCES fit(entry_id))"
    " STRICT;",
    "INSERT INTO \"removal\" VALUES(8,1);",
    "CREATE TABLE session( entry_id INTEGER PRIMARY KEY REFERENCES"
    " entry(id), log_name TEXT NOT NULL, log_sha256 BLOB NOT NULL"
    " CHECK(length(log_sha256) = 32), log_bytes INTEGER NOT NULL,"
    " running_s REAL NOT NULL, starts INTEGER NOT NULL, revolutions"
    " REAL, n_laps INTEGER NOT NULL, best_lap_s REAL, rpm_max REAL,"
    " egt_max_c REAL, verdict INTEGER NOT NULL, verdict_text TEXT NOT"
    " NULL, setup TEXT, air_temp_c REAL, air_pressure_pa REAL,"
    " air_humidity REAL) STRICT;",
    "INSERT INTO \"session\""
    " VALUES(4,'fuel-restriction.csv',X'2BEAF84BB97BF5AC1CDB18565D73527"
    "FFBFE86ABC76D35A1DD5827A771A39445',527577,5.59359999999993306139e+"
    "02,1,86907.4147750846,12,4.79536392927751364823e+01,14130.0,573.5,"
    "3,'Do not run the engine again before you have looked at the"
    " first point below.','main_jet=142',24.0,100800.0,0.55);",
    "CREATE TABLE watch( entry_id INTEGER PRIMARY KEY REFERENCES"
    " entry(id), fit_id INTEGER REFERENCES fit(entry_id), make_do"
    " INTEGER NOT NULL CHECK(make_do IN (0, 1))) STRICT;",
    "INSERT INTO \"watch\" VALUES(7,NULL,1);",
    "CREATE TABLE withdrawal( entry_id INTEGER PRIMARY KEY REFERENCES"
    " entry(id), written_s REAL NOT NULL, reason TEXT NOT NULL) STRICT;",
    "INSERT INTO \"withdrawal\" VALUES(10,1795798046.0,'nothing of the"
    " kind');",
    "CREATE INDEX entry_kind ON entry(kind);",
    "CREATE INDEX correction_entry ON correction(entry_id);",
    "CREATE INDEX session_log ON session(log_sha256);",
    "CREATE INDEX finding_session ON finding(session_id);",
    "CREATE INDEX removal_fit ON removal(fit_id);",
    "CREATE INDEX closing_target ON closing(target_id);",
    "CREATE INDEX attachment_entry ON attachment(entry_id);",
    "DELETE FROM \"sqlite_sequence\";",
    "INSERT INTO \"sqlite_sequence\" VALUES('entry',10);",
    "INSERT INTO \"sqlite_sequence\" VALUES('attachment',1);",
    "INSERT INTO \"sqlite_sequence\" VALUES('correction',1);",
    "COMMIT;",
};

void old_book_write(const char *path)
{
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    for (size_t i = 0; i < sizeof version_1 / sizeof version_1[0]; i++)
        assert_int_equal(sqlite3_exec(db, version_1[i], NULL, NULL, NULL),
                         SQLITE_OK);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}
