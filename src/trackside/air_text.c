/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Air as a person writes it: "T=21 P=1012 RH=45", C or F, hPa or inHg.
 *
 * Pressure is that of the place (station pressure). A weather report gives the
 * one reduced to sea level, which is some 12 hPa too high for each 100 m: see
 * kw_station_pressure_pa(). */
#include "kartwright/trackside.h"

#include "core/fail.h"
#include "core/number.h"
#include "core/text.h"

#include <math.h>
#include <string.h>

/* No race is run outside these: a value beyond is a slip of the pen. Common
 * practice, no source. */
static const double COLDEST_C = -30.0;
static const double HOTTEST_C = 55.0;
static const double LOWEST_PA = 60000.0;
static const double HIGHEST_PA = 110000.0;

/* value x factor + offset gives C or Pa. The inch and millimetre of mercury are
 * the conventional ones (ISO 80000-4: 133.322 Pa; 25.4 of them). */
struct unit {
    const char *name;
    double factor;
    double offset;
};

static const struct unit temp_units[] = {
    {"", 1.0, 0.0},
    {"C", 1.0, 0.0},
    {"F", 5.0 / 9.0, -160.0 / 9.0},
    {"K", 1.0, -273.15},
};

static const struct unit pressure_units[] = {
    {"", 100.0, 0.0},        {"hPa", 100.0, 0.0},          {"mbar", 100.0, 0.0},
    {"inHg", 3386.389, 0.0}, {"mmHg", 133.322387415, 0.0}, {"kPa", 1000.0, 0.0},
};

/* The word is quoted as it was typed, made visible: it may have come from a
 * file. */
static enum kw_status refuse(struct kw_error *error,
                             const char *problem,
                             const char *word,
                             const char *todo)
{
    struct kw_text what = {0};
    kw_text_add(&what, problem);
    kw_text_add(&what, " '");
    kw_text_add_visible(&what, word);
    kw_text_add(&what, "'");
    /* Half of Europe writes "24,5". */
    const struct kw_refusal refusal = {
        KW_BAD_USAGE, NULL, 0,
        strchr(word, ',') == NULL ? todo : "write it with a decimal point"};
    return kw_fail_text(error, &refusal, &what);
}

/* Splits "29.92inHg" and converts; false for no number or no such unit. */
static bool read_quantity(const char *text,
                          const struct unit *units,
                          size_t n_units,
                          double *out)
{
    const size_t digits = strspn(text, "+-.0123456789");
    double value = NAN;
    if (!kw_number_parse(text, digits, '.', &value))
        return false;
    const char *name = text + digits + strspn(text + digits, " ");
    for (size_t i = 0; i < n_units; i++) {
        if (!kw_text_same(name, units[i].name))
            continue;
        *out = value * units[i].factor + units[i].offset;
        return true;
    }
    return false;
}

/* 70 without a unit is refused as impossible in C, and the message asks whether
 * F was meant. */
enum kw_status kw_temp_parse(const char *text,
                             double *temp_c,
                             struct kw_error *error)
{
    double value = NAN;
    if (!read_quantity(text, temp_units,
                       sizeof temp_units / sizeof temp_units[0], &value))
        return refuse(error, "no temperature:", text,
                      "write it in C, or with its unit as 75F");
    if (!(value >= COLDEST_C && value <= HOTTEST_C))
        return refuse(error, "impossible air temperature", text,
                      "give -30 to 55 C, or write the unit as 75F");
    *temp_c = value;
    return KW_OK;
}

/* 29.92 without a unit is caught likewise. Mercury is not guessed: a wrong
 * guess would choose a wrong jet. */
enum kw_status kw_pressure_parse(const char *text,
                                 double *pressure_pa,
                                 struct kw_error *error)
{
    double value = NAN;
    if (!read_quantity(text, pressure_units,
                       sizeof pressure_units / sizeof pressure_units[0],
                       &value))
        return refuse(error, "no pressure:", text,
                      "write it in hPa, or with its unit as 29.92inHg");
    if (!(value >= LOWEST_PA && value <= HIGHEST_PA))
        return refuse(error, "impossible air pressure", text,
                      "give 600 to 1100 hPa, or write the unit as 29.92inHg");
    *pressure_pa = value;
    return KW_OK;
}

/* No reading is so low and not 0. Common practice, no source. */
static const double LEAST_HUMIDITY_PERCENT = 1.0;

bool kw_humidity_is_possible(double percent)
{
    return percent <= 100.0 && (percent >= LEAST_HUMIDITY_PERCENT ||
                                (percent >= 0.0 && !(percent > 0.0)));
}

/* In percent as every weather report has it, with or without the sign. */
static enum kw_status humidity_parse(const char *text,
                                     double *humidity,
                                     struct kw_error *error)
{
    size_t length = strlen(text);
    double percent = NAN;
    if (length > 0 && text[length - 1] == '%')
        length--;
    if (!kw_number_parse(text, length, '.', &percent) ||
        !kw_humidity_is_possible(percent))
        return refuse(error, "impossible relative humidity", text,
                      "give 0 to 100 percent, as 55");
    *humidity = percent / 100.0;
    return KW_OK;
}

/* Two temperatures are the air of two days on one line: neither is taken. */
static bool is_again(const char *word, const struct kw_air *air)
{
    return (strncmp(word, "RH=", 3) == 0 && !isnan(air->humidity)) ||
           (strncmp(word, "T=", 2) == 0 && !isnan(air->temp_c)) ||
           (strncmp(word, "P=", 2) == 0 && !isnan(air->pressure_pa));
}

/* Reads one "KEY=value" word into the field that it names. */
static enum kw_status read_word(const char *word,
                                struct kw_air *air,
                                struct kw_error *error)
{
    if (is_again(word, air))
        return refuse(error, "a second value for the air", word,
                      "write each once, as \"T=21 P=1012 RH=45\"");
    if (strncmp(word, "RH=", 3) == 0)
        return humidity_parse(word + 3, &air->humidity, error);
    if (strncmp(word, "T=", 2) == 0)
        return kw_temp_parse(word + 2, &air->temp_c, error);
    if (strncmp(word, "P=", 2) == 0)
        return kw_pressure_parse(word + 2, &air->pressure_pa, error);
    return refuse(error, "unknown part of the air", word,
                  "write it as \"T=21 P=1012 RH=45\"");
}

/* All three are asked for: a density from a guessed humidity would look as sure
 * as one that was measured. */
enum kw_status kw_air_parse(const char *text,
                            struct kw_air *out,
                            struct kw_error *error)
{
    struct kw_air air = {NAN, NAN, NAN};
    static const char separators[] = " \t,;";
    for (text += strspn(text, separators); *text != '\0';
         text += strspn(text, separators)) {
        /* Longer than any value with its unit; what does not fit is refused. */
        char word[48];
        const size_t length = strcspn(text, separators);
        if (length >= sizeof word)
            return refuse(error, "unknown part of the air", text,
                          "write it as \"T=21 P=1012 RH=45\"");
        memcpy(word, text, length);
        word[length] = '\0';
        const enum kw_status status = read_word(word, &air, error);
        if (status != KW_OK)
            return status;
        text += length;
    }
    if (isnan(air.temp_c) || isnan(air.pressure_pa) || isnan(air.humidity))
        return kw_fail(error, KW_BAD_USAGE, NULL, 0,
                       "the air needs T, P and RH",
                       "write it as \"T=21 P=1012 RH=45\"");
    *out = air;
    return KW_OK;
}
