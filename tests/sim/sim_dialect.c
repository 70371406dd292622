/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writes logs in many dialects, see sim_dialect.h. */
#include "sim_dialect.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { N_LANGUAGES = 6, N_WORDS = 2 };

/* Headings as people write them, for each language two ways. */
static const char *const HEADING[N_LANGUAGES][N_WORDS][SIM_N_COLUMNS] = {
    {{"Time", "RPM", "EGT", "EGT 2", "Speed", "Latitude", "Longitude", "Lap",
      "Lap marker", "Water temp", "Head temp", "Throttle", "Axle RPM",
      "Accel long", "Accel lat", "Battery"},
     {"Elapsed time", "Engine speed", "Exhaust temperature",
      "Exhaust temperature 2", "GPS speed", "Lat", "Lon", "Lap number",
      "Marker", "Water temperature", "Cylinder head temperature",
      "Throttle position", "Axle speed", "Longitudinal acceleration",
      "Lateral acceleration", "Battery voltage"}},
    {{"Zeit", "Drehzahl", "Abgastemperatur", "Abgastemperatur 2",
      "Geschwindigkeit", "Breite", "Länge", "Runde", "Rundenmarke",
      "Wassertemperatur", "Zylinderkopftemperatur", "Gas", "Achsdrehzahl",
      "Längsbeschleunigung", "Querbeschleunigung", "Batteriespannung"},
     {"Zeit", "Motordrehzahl", "Abgastemp.", "Abgastemp. 2",
      "GPS-Geschwindigkeit", "Breitengrad", "Längengrad", "Rundennummer",
      "Rundensignal", "Wassertemp.", "Kopftemperatur", "Gaspedal",
      "Achsdrehzahl", "Beschleunigung längs", "Beschleunigung quer",
      "Batterie"}},
    {{"Temps", "Régime moteur", "Température échappement",
      "Température échappement 2", "Vitesse", "Latitude", "Longitude", "Tour",
      "Marqueur de tour", "Température eau", "Température culasse", "Papillon",
      "Régime essieu", "Accélération longitudinale", "Accélération latérale",
      "Tension batterie"},
     {"Temps", "Régime", "Temp. échappement", "Temp. échappement 2",
      "Vitesse GPS", "Latitude", "Longitude", "Numéro de tour", "Top tour",
      "Temp. eau", "Temp. culasse", "Accélérateur", "Régime essieu",
      "Accélération long.", "Accélération lat.", "Batterie"}},
    {{"Tiempo", "RPM motor", "Temperatura escape", "Temperatura escape 2",
      "Velocidad", "Latitud", "Longitud", "Vuelta", "Marca de vuelta",
      "Temperatura agua", "Temperatura culata", "Acelerador", "RPM eje",
      "Aceleración longitudinal", "Aceleración lateral", "Voltaje batería"},
     {"Tiempo", "Régimen", "Temp. escape", "Temp. escape 2", "Velocidad GPS",
      "Latitud", "Longitud", "Número de vuelta", "Señal de vuelta",
      "Temp. agua", "Temp. culata", "Mariposa", "RPM eje", "Aceleración long.",
      "Aceleración lat.", "Batería"}},
    {{"Tempo", "Giri motore", "Temperatura scarico", "Temperatura scarico 2",
      "Velocità", "Latitudine", "Longitudine", "Giro", "Marcatore giro",
      "Temperatura acqua", "Temperatura testa", "Farfalla", "Giri assale",
      "Accelerazione longitudinale", "Accelerazione laterale",
      "Tensione batteria"},
     {"Tempo", "Regime motore", "Temp. gas di scarico",
      "Temp. gas di scarico 2", "Velocità GPS", "Latitudine", "Longitudine",
      "Numero giro", "Segnale giro", "Temp. acqua", "Temp. testa",
      "Acceleratore", "Giri assale", "Accelerazione long.",
      "Accelerazione lat.", "Batteria"}},
    {{"Tempo", "Rotação do motor", "Temperatura do escape",
      "Temperatura do escape 2", "Velocidade", "Latitude", "Longitude", "Volta",
      "Marca de volta", "Temperatura da água", "Temperatura da cabeça",
      "Acelerador", "Rotação do eixo", "Aceleração longitudinal",
      "Aceleração lateral", "Tensão da bateria"},
     {"Tempo", "RPM", "Temp. escape", "Temp. escape 2", "Velocidade GPS",
      "Latitude", "Longitude", "Número da volta", "Sinal de volta",
      "Temp. água", "Temp. cabeça", "Borboleta", "RPM eixo", "Aceleração long.",
      "Aceleração lat.", "Bateria"}}};

static const char *const SPEED_UNIT[] = {"km/h", "mph", "m/s", "kn"};
static const double PER_M_S[] = {3.6, 2.2369362920544, 1.0, 1.9438444924406};
static const char *const TEMPERATURE_UNIT[] = {"°C", "°F", "K"};

void sim_close(FILE *file, const char *path)
{
    if (ferror(file) != 0 || fclose(file) != 0) {
        fprintf(stderr, "kartwright-sim: %s: could not be written\n", path);
        exit(EXIT_FAILURE);
    }
}

FILE *sim_open(const char *path)
{
    FILE *file = fopen(path, "wb");
    if (file == NULL) {
        fprintf(stderr, "kartwright-sim: %s: cannot be opened to write\n",
                path);
        exit(EXIT_FAILURE);
    }
    return file;
}

static void draw_time_form(struct sim_dialect *dialect,
                           const struct sim_session *session,
                           struct sim_random *random)
{
    const struct sim_logger *logger = &session->logger;
    const double dice = sim_between(random, 0.0, 1.0);
    const bool steady = logger->jitter_s <= 0.0 && logger->gaps_h <= 0.0 &&
                        logger->lost_rows_h <= 0.0 &&
                        logger->odd_stamps_h <= 0.0;
    dialect->time_form = dice < 0.55   ? SIM_SECONDS
                         : dice < 0.7  ? SIM_MILLISECONDS
                         : dice < 0.85 ? SIM_CLOCK
                                       : SIM_ISO_8601;
    if (steady && sim_chance(random, 0.15))
        dialect->time_form = SIM_NO_TIME;
    dialect->clock_start_s = sim_chance(random, 0.1)
                                 ? 86400.0 - sim_between(random, 5, 400)
                                 : sim_between(random, 28800, 68000);
    dialect->clock_start_s = floor(dialect->clock_start_s);
    dialect->rate_in_notes = sim_chance(random, 0.5);
    dialect->notes_above =
        sim_chance(random, 0.35) ||
        (dialect->time_form == SIM_NO_TIME && dialect->rate_in_notes);
}

struct sim_dialect sim_draw_dialect(const struct sim_session *session)
{
    struct sim_random random = sim_random_open(session->seed, 9, 0.0);
    struct sim_dialect dialect = {0};
    dialect.language =
        sim_chance(&random, 0.45) ? 0 : sim_pick(&random, N_LANGUAGES);
    const bool comma_language = dialect.language != 0;
    dialect.decimal = comma_language && sim_chance(&random, 0.6) ? ',' : '.';
    const size_t dice = sim_pick(&random, 10);
    dialect.separator = dice < 6 ? ',' : dice < 8 ? ';' : '\t';
    if (dialect.decimal == ',' && dialect.separator == ',')
        dialect.separator = sim_chance(&random, 0.8) ? ';' : '\t';
    dialect.quoted = sim_chance(&random, 0.15);
    dialect.crlf = sim_chance(&random, 0.4);
    const size_t code = sim_pick(&random, 20);
    dialect.encoding = code < 13   ? SIM_UTF8
                       : code < 16 ? SIM_UTF8_MARK
                       : code < 19 ? SIM_LATIN1
                                   : SIM_UTF16;
    dialect.units = (enum sim_units)sim_pick(&random, 3);
    if (dialect.units != SIM_UNITS_NOT_SAID) {
        dialect.speed_unit =
            sim_chance(&random, 0.6) ? 0 : sim_pick(&random, 4);
        dialect.temperature_unit =
            sim_chance(&random, 0.75) ? 0 : sim_pick(&random, 3);
    }
    dialect.stray_column = sim_chance(&random, 0.2);
    dialect.order = (unsigned)sim_pick(&random, 1000);
    draw_time_form(&dialect, session, &random);
    sim_random_close(&random);
    return dialect;
}

/* One field of text, decimal mark and quotes as the dialect has them. */
static void put_field(FILE *out,
                      const struct sim_dialect *dialect,
                      const char *text,
                      bool first)
{
    if (!first)
        fputc(dialect->separator, out);
    const bool quote =
        dialect->quoted || strchr(text, dialect->separator) != NULL;
    fprintf(out, quote ? "\"%s\"" : "%s", text);
}

static void put_end(FILE *out, const struct sim_dialect *dialect)
{
    fputs(dialect->crlf ? "\r\n" : "\n", out);
}

static void number_text(char *text,
                        size_t room,
                        const struct sim_dialect *dialect,
                        double value,
                        int decimals)
{
    text[0] = '\0';
    if (isnan(value))
        return;
    snprintf(text, room, "%.*f", decimals, value);
    char *point = strchr(text, '.');
    if (point != NULL)
        *point = dialect->decimal;
}

static void time_text(char *text,
                      size_t room,
                      const struct sim_dialect *dialect,
                      double time_s)
{
    const double day_s = dialect->clock_start_s + time_s;
    const long day = day_s >= 86399.9995 ? 1 : 0;
    const double rest_ms = round((day_s - 86400.0 * (double)day) * 1000.0);
    const long ms = (long)fmax(rest_ms, 0.0);
    const long hour = ms / 3600000, minute = ms / 60000 % 60;
    const long second = ms / 1000 % 60, part = ms % 1000;
    switch (dialect->time_form) {
    case SIM_MILLISECONDS:
        snprintf(text, room, "%.0f", time_s * 1000.0);
        break;
    case SIM_CLOCK:
        snprintf(text, room, "%02ld:%02ld:%02ld%c%03ld", hour, minute, second,
                 dialect->decimal, part);
        break;
    case SIM_ISO_8601:
        snprintf(text, room, "2026-05-%02ldT%02ld:%02ld:%02ld.%03ld", 16 + day,
                 hour, minute, second, part);
        break;
    case SIM_SECONDS:
    case SIM_NO_TIME:
    default:
        number_text(text, room, dialect, time_s, 3);
        break;
    }
}

static const char *unit_of(const struct sim_dialect *dialect,
                           enum sim_column column)
{
    switch (column) {
    case SIM_TIME:
        return dialect->time_form == SIM_MILLISECONDS ? "ms"
               : dialect->time_form == SIM_SECONDS    ? "s"
                                                      : "";
    case SIM_RPM:
    case SIM_AXLE:
        return "rpm";
    case SIM_EGT:
    case SIM_EGT_TWO:
    case SIM_WATER:
    case SIM_HEAD:
        return TEMPERATURE_UNIT[dialect->temperature_unit];
    case SIM_SPEED:
        return SPEED_UNIT[dialect->speed_unit];
    case SIM_LATITUDE:
    case SIM_LONGITUDE:
        return "deg";
    case SIM_THROTTLE:
        return "%";
    case SIM_ACCEL_LONG:
    case SIM_ACCEL_LAT:
        return "g";
    case SIM_BATTERY:
        return "V";
    default:
        return "";
    }
}

static double in_unit(const struct sim_dialect *dialect,
                      enum sim_column column,
                      double value)
{
    const bool temperature = column == SIM_EGT || column == SIM_EGT_TWO ||
                             column == SIM_WATER || column == SIM_HEAD;
    if (column == SIM_SPEED)
        return value * PER_M_S[dialect->speed_unit];
    if (temperature && dialect->temperature_unit == 1)
        return value * 1.8 + 32.0;
    if (temperature && dialect->temperature_unit == 2)
        return value + 273.15;
    return value;
}

static int decimals_of(const struct sim_session *session,
                       enum sim_column column)
{
    switch (column) {
    case SIM_EGT:
    case SIM_EGT_TWO:
        return session->logger.egt_step_c < 1.0 ? 2 : 0;
    case SIM_LATITUDE:
    case SIM_LONGITUDE:
        return 7;
    case SIM_SPEED:
    case SIM_BATTERY:
        return 2;
    case SIM_ACCEL_LONG:
    case SIM_ACCEL_LAT:
        return 3;
    case SIM_WATER:
    case SIM_HEAD:
    case SIM_THROTTLE:
        return 1;
    default:
        return 0;
    }
}

/* The columns that the log has, in its own order; time comes first. */
static size_t list_columns(const struct sim_dialect *dialect,
                           const struct sim_rows *rows,
                           enum sim_column *list)
{
    size_t n = 0;
    if (dialect->time_form != SIM_NO_TIME)
        list[n++] = SIM_TIME;
    for (size_t i = 0; i < SIM_N_COLUMNS - 1; i++) {
        const size_t turned = (i + dialect->order) % (SIM_N_COLUMNS - 1) + 1;
        if (rows->value[turned] != NULL)
            list[n++] = (enum sim_column)turned;
    }
    return n;
}

static const char *const NOTE[] = {"Invented demonstration log",
                                   "Driver: A. Nobody", "Kart: number 7",
                                   "Weather: dry, light wind"};

static void put_notes(FILE *out,
                      const struct sim_session *session,
                      const struct sim_dialect *dialect)
{
    if (!dialect->notes_above)
        return;
    for (size_t i = 0; i < 2 + dialect->order % 3; i++) {
        fputs(NOTE[i], out);
        put_end(out, dialect);
    }
    if (dialect->time_form == SIM_NO_TIME && dialect->rate_in_notes) {
        fprintf(out, "Sample rate: %.10g Hz", session->logger.rate_hz);
        put_end(out, dialect);
    }
}

struct table {
    const struct sim_session *session;
    const struct sim_dialect *dialect;
    const struct sim_rows *rows;
    enum sim_column list[SIM_N_COLUMNS];
    size_t n_columns;
};

static void put_heading(FILE *out, const struct table *table)
{
    const struct sim_dialect *dialect = table->dialect;
    char text[160];
    for (size_t i = 0; i < table->n_columns; i++) {
        const char *word =
            HEADING[dialect->language][dialect->order / 500][table->list[i]];
        const char *unit = unit_of(dialect, table->list[i]);
        const char *form = dialect->order % 2 == 0 ? "%s [%s]" : "%s (%s)";
        if (dialect->units == SIM_UNITS_IN_HEADING && unit[0] != '\0')
            snprintf(text, sizeof text, form, word, unit);
        else if (table->list[i] == SIM_TIME &&
                 dialect->time_form == SIM_MILLISECONDS)
            snprintf(text, sizeof text, "%s ms", word);
        else
            snprintf(text, sizeof text, "%s", word);
        put_field(out, dialect, text, i == 0);
    }
    if (dialect->stray_column)
        put_field(out, dialect, "Aux 3", false);
    put_end(out, dialect);
    if (dialect->units != SIM_UNITS_ROW)
        return;
    for (size_t i = 0; i < table->n_columns; i++)
        put_field(out, dialect, unit_of(dialect, table->list[i]), i == 0);
    if (dialect->stray_column)
        put_field(out, dialect, "", false);
    put_end(out, dialect);
}

static void put_row(FILE *out, const struct table *table, size_t k)
{
    char text[64];
    for (size_t i = 0; i < table->n_columns; i++) {
        const enum sim_column column = table->list[i];
        const double value = table->rows->value[column][k];
        if (column == SIM_TIME)
            time_text(text, sizeof text, table->dialect, value);
        else
            number_text(text, sizeof text, table->dialect,
                        in_unit(table->dialect, column, value),
                        decimals_of(table->session, column));
        put_field(out, table->dialect, text, i == 0);
    }
    if (table->dialect->stray_column)
        put_field(out, table->dialect, k % 7 == 0 ? "" : "0", false);
    put_end(out, table->dialect);
}

/* All our text lies below U+0100, so that a code point is one byte or two. */
static unsigned next_code(const char **at)
{
    const unsigned char first = (unsigned char)*(*at)++;
    if (first < 0x80)
        return first;
    const unsigned char second = (unsigned char)*(*at)++;
    return ((first & 0x1fU) << 6) | (second & 0x3fU);
}

static void encode(FILE *file, const char *text, enum sim_encoding encoding)
{
    if (encoding == SIM_UTF16)
        fputs("\xff\xfe", file);
    while (*text != '\0') {
        const unsigned code = next_code(&text);
        fputc((int)(code & 0xffU), file);
        if (encoding == SIM_UTF16)
            fputc((int)(code >> 8), file);
    }
}

void sim_log_write(const struct sim_session *session,
                   const struct sim_dialect *dialect,
                   const struct sim_rows *rows,
                   const char *path)
{
    char *text = NULL;
    size_t size = 0;
    FILE *memory = open_memstream(&text, &size);
    if (memory == NULL) {
        fprintf(stderr, "kartwright-sim: out of memory\n");
        exit(EXIT_FAILURE);
    }
    struct table table = {.session = session, .dialect = dialect, .rows = rows};
    table.n_columns = list_columns(dialect, rows, table.list);
    put_notes(memory, session, dialect);
    put_heading(memory, &table);
    for (size_t k = 0; k < rows->n; k++)
        put_row(memory, &table, k);
    sim_close(memory, path);

    FILE *file = sim_open(path);
    if (dialect->encoding == SIM_UTF8_MARK)
        fputs("\xef\xbb\xbf", file);
    if (dialect->encoding == SIM_LATIN1 || dialect->encoding == SIM_UTF16)
        encode(file, text, dialect->encoding);
    else
        fwrite(text, 1, size, file);
    free(text);
    sim_close(file, path);
}
