/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The export: nothing is lost on the way to a spreadsheet and back, and nothing
 * of it is run there. */
#include "support/check.h"

#include "kartwright/season.h"
#include "support/scratch.h"
#include "support/season.h"

#include <csv.h>
#include <jansson.h>
#include <stdlib.h>
#include <string.h>

/* A file as another library reads it: cells[row][column]. */
enum { MOST_ROWS = 40, MOST_COLUMNS = 20 };

struct sheet {
    char *cells[MOST_ROWS][MOST_COLUMNS];
    size_t n_rows;
    size_t n_columns;
    size_t n_here;
};

static void on_cell(void *field, size_t length, void *data)
{
    struct sheet *sheet = data;
    char *copy = calloc(length + 1, 1);
    assert_non_null(copy);
    assert_true(sheet->n_rows < MOST_ROWS && sheet->n_here < MOST_COLUMNS);
    memcpy(copy, field, length);
    sheet->cells[sheet->n_rows][sheet->n_here++] = copy;
}

static void on_row(int end, void *data)
{
    struct sheet *sheet = data;
    (void)end;
    if (sheet->n_rows == 0)
        sheet->n_columns = sheet->n_here;
    assert_int_equal(sheet->n_here, sheet->n_columns);
    sheet->n_here = 0;
    sheet->n_rows++;
}

static const struct kw_export_file *file_of(const struct kw_export *exported,
                                            const char *name)
{
    for (size_t i = 0; i < exported->n; i++) {
        if (strcmp(exported->items[i].name, name) == 0)
            return &exported->items[i];
    }
    fail_msg("no file %s", name);
    return NULL;
}

static void read_sheet(const struct kw_export *exported,
                       const char *name,
                       struct sheet *sheet)
{
    const struct kw_export_file *file = file_of(exported, name);
    struct csv_parser parser;
    *sheet = (struct sheet){0};
    assert_int_equal(csv_init(&parser, CSV_STRICT), 0);
    assert_int_equal(
        csv_parse(&parser, file->bytes, file->n_bytes, on_cell, on_row, sheet),
        file->n_bytes);
    csv_fini(&parser, on_cell, on_row, sheet);
    csv_free(&parser);
    assert_int_equal(sheet->n_rows, file->n_rows + 1);
}

static void sheet_free(struct sheet *sheet)
{
    for (size_t i = 0; i < sheet->n_rows; i++) {
        for (size_t k = 0; k < sheet->n_columns; k++)
            free(sheet->cells[i][k]);
    }
}

/* The cell of a row under a heading. */
static const char *cell_of(const struct sheet *sheet,
                           size_t row,
                           const char *heading)
{
    for (size_t i = 0; i < sheet->n_columns; i++) {
        if (strcmp(sheet->cells[0][i], heading) == 0)
            return sheet->cells[row + 1][i];
    }
    fail_msg("no column %s", heading);
    return NULL;
}

/* A text as it was before the guard. */
static const char *unguarded(const char *cell)
{
    return cell[0] == '\'' ? cell + 1 : cell;
}

static int64_t note(struct season *season, const char *text)
{
    const struct kw_file_copy file = {"=photo.jpg", "abc", 3};
    const struct kw_new_entry entry = {
        .at_s = season_day(1.0), .text = text, .files = &file, .n_files = 1};
    int64_t id = 0;
    assert_int_equal(kw_logbook_note(season->book, &entry, &id, NULL), KW_OK);
    return id;
}

static const char formula[] = "=HYPERLINK(\"x\"),\r\n'second', \xC3\xBC";

/* Two karts, parts on and off, a finding, a closing, a formula for a note. */
static void fill(struct season *season)
{
    const struct kw_air air = {24.0, 100800.0, 0.55};
    season->kart = "+Number 7";
    const int64_t chain = season_fit(season, 0.0, "chain", 5.0);
    season_session_at_heat(season, 1.0, 612.5, &air);
    season_session_with(season, 2.0, "-fuel line", KW_BEFORE_NEXT_RUN);
    season_remove(season, 2.5, chain);
    season->kart = "Number 8";
    season_fit(season, 0.0, "clutch lining", 8.0);
    season_session(season, 3.0, 1234.5);
    note(season, formula);
    season_watch(season, 4.0, "@hairline", false);
}

/* Every entry is there as the book itself gives it, text for text. */
static void test_export__entries_come_back_as_they_were(void **state)
{
    struct season season;
    struct kw_export exported;
    struct kw_entries entries;
    struct sheet sheet;
    season_begin(&season, *state);
    fill(&season);
    assert_int_equal(kw_logbook_export(season.book, &exported, NULL), KW_OK);
    assert_int_equal(kw_logbook_entries(season.book, &entries, NULL), KW_OK);
    read_sheet(&exported, "entries.csv", &sheet);
    /* Findings have rows too; `list` leaves them out. */
    assert_int_equal(sheet.n_rows, entries.n + 1 + 1);
    size_t row = 0;
    for (size_t i = 0; i < entries.n; i++, row++) {
        const struct kw_entry *entry = &entries.items[i];
        if (strcmp(cell_of(&sheet, row, "kind"), "finding") == 0)
            row++;
        assert_int_equal(strtol(cell_of(&sheet, row, "id"), NULL, 10),
                         entry->id);
        assert_string_equal(cell_of(&sheet, row, "kind"),
                            kw_entry_kind_name(entry->kind));
        assert_string_equal(unguarded(cell_of(&sheet, row, "text")),
                            entry->text);
        assert_string_equal(unguarded(cell_of(&sheet, row, "kart")),
                            entry->kart);
    }
    sheet_free(&sheet);
    kw_entries_free(&entries);
    kw_export_free(&exported);
    season_end(&season);
}

/* A buyer opens the tables in a spreadsheet: no cell may be run there. */
static void test_export__no_text_starts_a_formula(void **state)
{
    struct season season;
    struct kw_export exported;
    size_t n_guarded = 0;
    season_begin(&season, *state);
    fill(&season);
    assert_int_equal(kw_logbook_export(season.book, &exported, NULL), KW_OK);
    for (size_t i = 0; i + 1 < exported.n; i++) {
        struct sheet sheet;
        read_sheet(&exported, exported.items[i].name, &sheet);
        for (size_t row = 0; row < sheet.n_rows; row++) {
            for (size_t k = 0; k < sheet.n_columns; k++) {
                const char *cell = sheet.cells[row][k];
                check_true(cell,
                           cell[0] == '\0' || strchr("=+-@", cell[0]) == NULL);
                n_guarded += cell[0] == '\'';
            }
        }
        sheet_free(&sheet);
    }
    /* At least the kart, the finding, the note, the file and the watch item. */
    assert_true(n_guarded >= 5);
    kw_export_free(&exported);
    season_end(&season);
}

/* Hours in the table are SQLite's own sum; those of `parts` are not. */
static void test_export__hours_are_those_of_parts(void **state)
{
    struct season season;
    struct kw_export exported;
    struct kw_parts parts;
    struct sheet sheet;
    season_begin(&season, *state);
    fill(&season);
    assert_int_equal(kw_logbook_export(season.book, &exported, NULL), KW_OK);
    assert_int_equal(kw_logbook_parts(season.book, &parts, NULL), KW_OK);
    read_sheet(&exported, "parts.csv", &sheet);
    assert_int_equal(sheet.n_rows, parts.n + 1);
    for (size_t row = 0; row < parts.n; row++) {
        const int64_t id = strtol(cell_of(&sheet, row, "id"), NULL, 10);
        for (size_t i = 0; i < parts.n; i++) {
            if (parts.items[i].id == id)
                check_near(parts.items[i].part,
                           strtod(cell_of(&sheet, row, "hours"), NULL),
                           kw_part_hours(&parts.items[i]), 1e-9);
        }
    }
    sheet_free(&sheet);
    kw_parts_free(&parts);
    kw_export_free(&exported);
    season_end(&season);
}

/* FIPS 180-4, example B.1: the sum of "abc". */
static void test_export__files_have_their_sum(void **state)
{
    struct season season;
    struct kw_export exported;
    struct sheet sheet;
    season_begin(&season, *state);
    fill(&season);
    assert_int_equal(kw_logbook_export(season.book, &exported, NULL), KW_OK);
    read_sheet(&exported, "attachments.csv", &sheet);
    assert_int_equal(sheet.n_rows, 2);
    assert_string_equal(cell_of(&sheet, 0, "name"), "'=photo.jpg");
    assert_string_equal(cell_of(&sheet, 0, "bytes"), "3");
    assert_string_equal(
        cell_of(&sheet, 0, "sha256"),
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    sheet_free(&sheet);
    kw_export_free(&exported);
    season_end(&season);
}

/* What was taken out or moved is still told: an export is the whole book. */
static void test_export__withdrawn_and_corrected_are_told(void **state)
{
    const struct kw_new_entry why = {
        .at_s = season_day(0.5), .written_s = season_day(9.0), .text = "slip"};
    struct season season;
    struct kw_export exported;
    struct sheet sheet;
    season_begin(&season, *state);
    const int64_t wrong = season_session(&season, 1.0, 600.0);
    const int64_t moved = season_session(&season, 2.0, 600.0);
    assert_int_equal(kw_logbook_withdraw(season.book, &why, wrong, NULL),
                     KW_OK);
    assert_int_equal(kw_logbook_correct(season.book, &why, moved, NULL), KW_OK);
    assert_int_equal(kw_logbook_export(season.book, &exported, NULL), KW_OK);
    read_sheet(&exported, "withdrawn.csv", &sheet);
    assert_int_equal(sheet.n_rows, 2);
    assert_string_equal(cell_of(&sheet, 0, "reason"), "slip");
    sheet_free(&sheet);
    read_sheet(&exported, "sessions.csv", &sheet);
    assert_int_equal(sheet.n_rows, 2);
    assert_int_equal(strtol(cell_of(&sheet, 0, "id"), NULL, 10), moved);
    sheet_free(&sheet);
    read_sheet(&exported, "corrections.csv", &sheet);
    assert_int_equal(sheet.n_rows, 2);
    sheet_free(&sheet);
    kw_export_free(&exported);
    season_end(&season);
}

/* The JSON has the same tables with as many rows, and numbers as numbers. */
static void test_export__json_has_the_same_tables(void **state)
{
    struct season season;
    struct kw_export exported;
    season_begin(&season, *state);
    fill(&season);
    assert_int_equal(kw_logbook_export(season.book, &exported, NULL), KW_OK);
    const struct kw_export_file *file = file_of(&exported, "logbook.json");
    json_t *root = json_loadb(file->bytes, file->n_bytes, 0, NULL);
    assert_non_null(root);
    assert_string_equal(json_string_value(json_object_get(root, "format")),
                        "kartwright-logbook-export");
    json_t *tables = json_object_get(root, "tables");
    assert_int_equal(json_object_size(tables), exported.n - 1);
    for (size_t i = 0; i + 1 < exported.n; i++) {
        char name[KW_EXPORT_NAME_SIZE];
        snprintf(name, sizeof name, "%s", exported.items[i].name);
        *strrchr(name, '.') = '\0';
        assert_int_equal(json_array_size(json_object_get(tables, name)),
                         exported.items[i].n_rows);
    }
    json_t *session = json_array_get(json_object_get(tables, "sessions"), 0);
    check_near("air", json_number_value(json_object_get(session, "air_temp_c")),
               24.0, 0.0);
    assert_true(json_is_null(json_object_get(session, "setup")));
    json_decref(root);
    kw_export_free(&exported);
    season_end(&season);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_SCRATCH(test_export__entries_come_back_as_they_were),
        IN_SCRATCH(test_export__no_text_starts_a_formula),
        IN_SCRATCH(test_export__hours_are_those_of_parts),
        IN_SCRATCH(test_export__files_have_their_sum),
        IN_SCRATCH(test_export__withdrawn_and_corrected_are_told),
        IN_SCRATCH(test_export__json_has_the_same_tables),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
