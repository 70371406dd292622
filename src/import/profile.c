/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading a kart profile with inih. A misspelt key is refused: a limit that is
 * silently not used is worse than none. */
#include "kartwright/profile.h"

#include "core/array.h"
#include "core/fail.h"
#include "core/file.h"
#include "core/number.h"
#include "core/text.h"

#include <ini.h>
#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

/* One numeric key: value in the file * factor goes to the field. The range is
 * that of what karts have (common practice, no source), wide enough for all.
 *
 * whole  the number counts something: half a tooth is a slip. */
struct key {
    const char *section;
    const char *name;
    size_t offset;
    double factor;
    double lowest;
    double highest;
    bool whole;
};

/* A table of keys and one function for all: a new limit is one line. */
#define FIELD(name) offsetof(struct kw_profile, name)

/* Tyres are measured in millimetres and calculated with in metres: the factor
 * is the border. */
static const struct key keys[] = {
    {"kart", "mass_kg", FIELD(mass_kg), 1.0, 40, 400, false},
    {"kart", "tyre_circumference_mm", FIELD(tyre_circumference_m), 1e-3,
     KW_SMALLEST_TYRE_MM, KW_LARGEST_TYRE_MM, false},
    {"kart", "engine_teeth", FIELD(engine_teeth), 1.0, KW_FEWEST_ENGINE_TEETH,
     KW_MOST_ENGINE_TEETH, true},
    {"kart", "axle_teeth", FIELD(axle_teeth), 1.0, KW_FEWEST_AXLE_TEETH,
     KW_MOST_AXLE_TEETH, true},
    {"engine", "idle_rpm", FIELD(idle_rpm), 1.0, 300, 6000, false},
    {"engine", "max_rpm", FIELD(max_rpm), 1.0, 1500, 25000, false},
    {"engine", "clutch_rpm", FIELD(clutch_rpm), 1.0, 800, 12000, false},
    {"engine", "egt_limit_c", FIELD(egt_limit_c), 1.0, 200, 1000, false},
    {"engine", "probe_lag_s", FIELD(probe_lag_s), 1.0, 0.01, 20, false},
};

/* A profile has some thirty lines. inih reads into a buffer that has to hold a
 * line with its end and a zero: what is longer it would take for two. */
enum {
    N_KEYS = sizeof keys / sizeof keys[0],
    LONGEST_KEY = 40,
    LONGEST_LINE = INI_MAX_LINE - 2,
    MOST_BYTES = 1024 * 1024
};

/* Some 10 cm: less than a kart is wide, so nobody drives between the ends. */
static const double SAME_POINT_DEG = 1e-6;

/* What the handler needs, and the first thing that was wrong.
 *
 * at           what is left of the file.
 * line         of the file, that inih is at.
 * failed_line  the line that was refused.
 * key_line     where each of `keys` stands, or 0.
 * point_line   the same for the ends of the start/finish line. */
struct reading {
    struct kw_profile *profile;
    const char *at;
    int line;
    int failed_line;
    int key_line[N_KEYS];
    int point_line[2];
    bool failed;
    bool no_memory;
    struct kw_text what;
    struct kw_text todo;
};

/* NAN for "not stated". 0 could be taken for a limit. */
void kw_profile_init(struct kw_profile *profile)
{
    *profile = (struct kw_profile){
        .mass_kg = NAN,
        .tyre_circumference_m = NAN,
        .engine_teeth = NAN,
        .axle_teeth = NAN,
        .idle_rpm = NAN,
        .max_rpm = NAN,
        .clutch_rpm = NAN,
        .egt_limit_c = NAN,
        .probe_lag_s = NAN,
        .line_lat_deg = {NAN, NAN},
        .line_lon_deg = {NAN, NAN},
    };
}

void kw_profile_free(struct kw_profile *profile)
{
    for (size_t i = 0; i < profile->n_columns; i++)
        free(profile->columns[i].heading);
    free(profile->columns);
    free(profile->name);
    kw_profile_init(profile);
}

/* NAN in, NAN out: no need to ask which of the two is missing. */
double kw_profile_gearing(const struct kw_profile *profile)
{
    return profile->axle_teeth / profile->engine_teeth;
}

double kw_profile_rpm_per_m_s(const struct kw_profile *profile)
{
    return kw_profile_gearing(profile) / profile->tyre_circumference_m * 60.0;
}

/* ---- one line ------------------------------------------------------------ */

/* Only the first fault is kept: the person mends one thing at a time. Gives
 * inih's word for an error. */
static int refuse(struct reading *reading,
                  const char *problem,
                  const char *word,
                  const char *todo)
{
    /* inih goes on to the end of the file whatever a handler says, so later
     * faults come here too. */
    if (!reading->failed) {
        reading->failed = true;
        reading->failed_line = reading->line;
        kw_text_add(&reading->what, problem);
        kw_text_add(&reading->what, " '");
        kw_text_add_visible(&reading->what, word);
        kw_text_add(&reading->what, "'");
        kw_text_add(&reading->todo, todo);
    }
    return 0;
}

/* Of two values one would be used and the other not, and nobody would see
 * which. */
static int refuse_second(struct reading *reading, const char *name)
{
    return refuse(reading, "given twice:", name, "leave one of them out");
}

/* Names the range, and the decimal comma where that is the reason. */
static int refuse_number(struct reading *reading,
                         const struct key *key,
                         const char *value)
{
    struct kw_text todo = {0};
    kw_text_addf(&todo, "give %s a %snumber from ", key->name,
                 key->whole ? "whole " : "");
    kw_text_add_number(&todo, key->lowest, key->lowest < 1.0 ? 2 : 0);
    kw_text_add(&todo, " to ");
    kw_text_add_number(&todo, key->highest, 0);
    /* Half of Europe writes "0,85", and the range alone would not say what is
     * wrong with it. */
    if (strchr(value, ',') != NULL)
        kw_text_add(&todo, ", with a decimal point");
    const int refused = refuse(reading, "impossible value", value,
                               kw_text_failed(&todo) ? "" : todo.bytes);
    kw_text_free(&todo);
    return refused;
}

/* Comparisons with NAN are false: a value that is none is refused here too. */
static int read_number(struct reading *reading,
                       const struct key *key,
                       const char *value)
{
    double number = NAN;
    int *line = &reading->key_line[key - keys];
    if (*line != 0)
        return refuse_second(reading, key->name);
    if (!kw_number_parse(value, strlen(value), '.', &number) ||
        !(number >= key->lowest && number <= key->highest) ||
        (key->whole && fmod(number, 1.0) != 0.0))
        return refuse_number(reading, key, value);
    number *= key->factor;
    *line = reading->line;
    /* By offset, so that one function serves all fields; as bytes, for the
     * offset knows no type. */
    memcpy((char *)reading->profile + key->offset, &number, sizeof number);
    return 1;
}

/* "51.00010, 3.00020" Not kw_cell_read(): a profile has one form only, so that
 * it means the same on every machine. */
static int read_point(struct reading *reading, size_t end, const char *value)
{
    const char *comma = strchr(value, ',');
    const char *second =
        comma == NULL ? "" : comma + 1 + strspn(comma + 1, " ");
    size_t first_length = comma == NULL ? 0 : (size_t)(comma - value);
    double lat = NAN;
    double lon = NAN;
    if (reading->point_line[end] != 0)
        return refuse_second(reading, end == 0 ? "a" : "b");
    while (first_length > 0 && value[first_length - 1] == ' ')
        first_length--;
    if (!kw_number_parse(value, first_length, '.', &lat) ||
        !kw_number_parse(second, strlen(second), '.', &lon) ||
        !(fabs(lat) <= 90.0 && fabs(lon) <= 180.0))
        return refuse(reading, "no position:", value,
                      "write latitude and longitude as 51.00010, 3.00020");
    reading->profile->line_lat_deg[end] = lat;
    reading->profile->line_lon_deg[end] = lon;
    reading->point_line[end] = reading->line;
    return 1;
}

/* Quotes round a heading are the person's, not the heading's. So that "rpm =
 * "Engine Speed"" may be written as the heading reads, with outer blanks. */
static int read_column(struct reading *reading,
                       const char *name,
                       const char *value)
{
    struct kw_profile *profile = reading->profile;
    const enum kw_role role = kw_role_from_name(name);
    if (role == KW_N_ROLES)
        return refuse(reading, "no such role:", name,
                      "write a role such as time, rpm, egt or speed");
    /* Only exhausts may have several probes. */
    for (size_t i = 0; i < profile->n_columns && role != KW_ROLE_EGT; i++) {
        if (profile->columns[i].role == role)
            return refuse_second(reading, name);
    }
    char *heading = kw_text_duplicate(value, NULL);
    const size_t length = heading == NULL ? 0 : strlen(heading);
    if (length >= 2 && heading[0] == '"' && heading[length - 1] == '"') {
        memmove(heading, heading + 1, length - 2);
        heading[length - 2] = '\0';
    }
    if (heading == NULL ||
        kw_array_reserve(&profile->columns, &profile->columns_capacity,
                         profile->n_columns + 1, sizeof *profile->columns,
                         NULL) != KW_OK) {
        free(heading);
        reading->no_memory = true;
        return 0;
    }
    profile->columns[profile->n_columns++] =
        (struct kw_column_choice){role, heading};
    return 1;
}

/* Taken as it stands; each sink escapes it. */
static int read_name(struct reading *reading, const char *value)
{
    if (reading->profile->name != NULL)
        return refuse_second(reading, "name");
    reading->profile->name = kw_text_duplicate(value, NULL);
    reading->no_memory = reading->no_memory || reading->profile->name == NULL;
    return reading->profile->name != NULL;
}

/* Steps of one letter (put in, left out, changed) from a to b (Levenshtein
 * 1966); long words are cut. */
static size_t letters_apart(const char *a, const char *b)
{
    size_t row[LONGEST_KEY + 1];
    const size_t n_a = strnlen(a, LONGEST_KEY);
    const size_t n_b = strnlen(b, LONGEST_KEY);
    for (size_t k = 0; k <= n_b; k++)
        row[k] = k;
    for (size_t i = 1; i <= n_a; i++) {
        /* One row of the table is kept, and the corner of the row above that it
         * overwrites. */
        size_t diagonal = row[0];
        row[0] = i;
        for (size_t k = 1; k <= n_b; k++) {
            const size_t changed = diagonal + (a[i - 1] != b[k - 1]);
            diagonal = row[k];
            const size_t moved =
                1 + (row[k] < row[k - 1] ? row[k] : row[k - 1]);
            row[k] = changed < moved ? changed : moved;
        }
    }
    return row[n_b];
}

/* Names the key that was meant, and its section: often just that is wrong. */
static int refuse_key(struct reading *reading,
                      const char *section,
                      const char *name)
{
    const struct key *nearest = &keys[0];
    struct kw_text word = {0};
    struct kw_text todo = {0};
    for (size_t i = 1; i < N_KEYS; i++) {
        if (letters_apart(name, keys[i].name) <
            letters_apart(name, nearest->name))
            nearest = &keys[i];
    }
    /* With more than half the letters wrong a proposal would be a guess (common
     * practice, no source). */
    if (letters_apart(name, nearest->name) <= strlen(nearest->name) / 2)
        kw_text_addf(&todo, "did you mean %s under [%s]?", nearest->name,
                     nearest->section);
    else
        kw_text_add(&todo, "see 'man kartwright-review' for the keys of a "
                           "profile");
    kw_text_addf(&word, "[%s] %s", section, name);
    const bool failed = kw_text_failed(&word) || kw_text_failed(&todo);
    const int refused = refuse(reading, "unknown key", failed ? "" : word.bytes,
                               failed ? "" : todo.bytes);
    kw_text_free(&word);
    kw_text_free(&todo);
    return refused;
}

/* inih calls this for each key, and takes 0 as "refused". */
static int on_line(void *data,
                   const char *section,
                   const char *name,
                   const char *value)
{
    struct reading *reading = data;
    if (strcmp(section, "columns") == 0)
        return read_column(reading, name, value);
    if (strcmp(section, "kart") == 0 && strcmp(name, "name") == 0)
        return read_name(reading, value);
    if (strcmp(section, "line") == 0 && strcmp(name, "a") == 0)
        return read_point(reading, 0, value);
    if (strcmp(section, "line") == 0 && strcmp(name, "b") == 0)
        return read_point(reading, 1, value);
    for (size_t i = 0; i < N_KEYS; i++) {
        if (strcmp(section, keys[i].section) == 0 &&
            strcmp(name, keys[i].name) == 0)
            return read_number(reading, &keys[i], value);
    }
    return refuse_key(reading, section, name);
}

/* ---- the whole file ------------------------------------------------------ */

/* Hands a line to inih and counts it. Blanks in front are left out: inih would
 * take an indented key for more of the value above it. */
static char *next_line(char *buffer, int size, void *stream)
{
    struct reading *reading = stream;
    const char *line = reading->at;
    const size_t whole = strcspn(line, "\n") + (strchr(line, '\n') != NULL);
    if (whole == 0)
        return NULL;
    const size_t blanks = strspn(line, " \t");
    const size_t length = whole - blanks;
    /* See check_text(): no line is longer. */
    const size_t taken = length < (size_t)size ? length : (size_t)size - 1;
    memcpy(buffer, line + blanks, taken);
    buffer[taken] = '\0';
    reading->at += whole;
    reading->line++;
    return buffer;
}

/* What an editor or another program made of the file. UTF-16 begins with its
 * mark, or has a zero in every other byte. */
static enum kw_status check_text(const struct kw_text *text,
                                 const char *path,
                                 struct kw_error *error)
{
    const char *bytes = text->bytes == NULL ? "" : text->bytes;
    size_t line = 1;
    size_t length = 0;
    if (text->length >= 2 && (memcmp(bytes, "\xFF\xFE", 2) == 0 ||
                              memcmp(bytes, "\xFE\xFF", 2) == 0))
        return kw_fail(error, KW_BAD_INPUT, path, 0, "is saved as UTF-16",
                       "save it as plain text, UTF-8");
    for (size_t i = 0; i < text->length; i++) {
        length = bytes[i] == '\n' ? 0 : length + 1;
        if (bytes[i] == '\0')
            return kw_fail(error, KW_BAD_INPUT, path, line,
                           "has a zero byte, which is no text",
                           "save it as plain text, UTF-8");
        if (length > LONGEST_LINE)
            return kw_fail(error, KW_BAD_INPUT, path, line,
                           "the line is too long for a profile",
                           "write one key = value on each line");
        line += bytes[i] == '\n';
    }
    return KW_OK;
}

/* Half a line would silently be no line at all. Two points make a line across
 * the track; one would be crossed nowhere, and so would one given twice. */
static enum kw_status check_line(const struct reading *reading,
                                 const char *path,
                                 struct kw_error *error)
{
    const struct kw_profile *profile = reading->profile;
    const int *at = reading->point_line;
    const size_t last = (size_t)(at[0] > at[1] ? at[0] : at[1]);
    if (last == 0)
        return KW_OK;
    if (at[0] == 0 || at[1] == 0)
        return kw_fail(error, KW_BAD_INPUT, path, last,
                       "the start/finish line has one end only",
                       "give both a and b under [line]");
    const double lat = profile->line_lat_deg[1] - profile->line_lat_deg[0];
    const double lon = profile->line_lon_deg[1] - profile->line_lon_deg[0];
    if (fabs(lat) < SAME_POINT_DEG && fabs(lon) < SAME_POINT_DEG)
        return kw_fail(error, KW_BAD_INPUT, path, last,
                       "both ends of the start/finish line are one point",
                       "give one point on each side of the track");
    return KW_OK;
}

/* Where a key stands, by its name. */
static int line_of(const struct reading *reading, const char *name)
{
    for (size_t i = 0; i < N_KEYS; i++) {
        if (strcmp(keys[i].name, name) == 0)
            return reading->key_line[i];
    }
    return 0;
}

/* The later of the two lines is told: there the person saw the other. */
static enum kw_status refuse_order(const struct reading *reading,
                                   const char *high,
                                   const char *low,
                                   const char *path,
                                   struct kw_error *error)
{
    const int a = line_of(reading, high);
    const int b = line_of(reading, low);
    struct kw_text what = {0};
    kw_text_addf(&what, "%s is not above %s", high, low);
    const struct kw_refusal refusal = {
        KW_BAD_INPUT, path, (size_t)(a > b ? a : b),
        "set right whichever is wrong under [engine]"};
    return kw_fail_text(error, &refusal, &what);
}

/* An engine idles below the speed at which its clutch takes hold, and both are
 * below its highest: two that were swapped would set every start aside. */
static enum kw_status check_speeds(const struct reading *reading,
                                   const char *path,
                                   struct kw_error *error)
{
    static const char *const rising[] = {"idle_rpm", "clutch_rpm", "max_rpm"};
    const struct kw_profile *profile = reading->profile;
    const double rpm[] = {profile->idle_rpm, profile->clutch_rpm,
                          profile->max_rpm};
    for (size_t high = 1; high < sizeof rpm / sizeof rpm[0]; high++) {
        for (size_t low = 0; low < high; low++) {
            /* Comparisons with NAN are false: what is not stated is right. */
            if (rpm[low] >= rpm[high])
                return refuse_order(reading, rising[high], rising[low], path,
                                    error);
        }
    }
    return KW_OK;
}

/* inih gives the first line that was wrong, by its own judgement or by ours;
 * whichever came first is told. */
static enum kw_status read_lines(const struct kw_text *text,
                                 const char *path,
                                 struct kw_profile *out,
                                 struct kw_error *error)
{
    struct reading reading = {.profile = out,
                              .at = text->bytes == NULL ? "" : text->bytes};
    const int line = ini_parse_stream(next_line, &reading, on_line, &reading);
    enum kw_status status = KW_OK;
    if (line == -2 || reading.no_memory || kw_text_failed(&reading.what) ||
        kw_text_failed(&reading.todo))
        status = kw_fail_memory(error);
    else if (reading.failed && reading.failed_line <= line)
        status = kw_fail(error, KW_BAD_INPUT, path, (size_t)line,
                         reading.what.bytes, reading.todo.bytes);
    else if (line != 0)
        status = kw_fail(error, KW_BAD_INPUT, path, (size_t)line,
                         "neither a [section] nor key = value",
                         "write one key = value on each line");
    if (status == KW_OK)
        status = check_line(&reading, path, error);
    if (status == KW_OK)
        status = check_speeds(&reading, path, error);
    kw_text_free(&reading.what);
    kw_text_free(&reading.todo);
    return status;
}

/* A profile that is wrong in one line is refused whole: half a kart would be
 * reviewed as another. */
enum kw_status kw_profile_read(const char *path,
                               struct kw_profile *out,
                               struct kw_error *error)
{
    struct kw_text text = {0};
    kw_profile_init(out);
    enum kw_status status = kw_file_read(path, MOST_BYTES, &text, error);
    if (status == KW_OK)
        status = check_text(&text, path, error);
    if (status == KW_OK)
        status = read_lines(&text, path, out, error);
    kw_text_free(&text);
    if (status != KW_OK)
        kw_profile_free(out);
    return status;
}
