/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers as text. The fast path of parsing costs one multiplication or
 * division; everything it cannot do exactly goes through strtod.
 *
 * Both ways ignore the locale: a program in a German environment must not read
 * 12.5 as 12, nor write 12,5 into JSON. */
#include "number.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* 10^22 is the largest power of ten that a double holds exactly, and 15 digits
 * always fit its 53 bits (Clinger, PLDI 1990, section 3). */
enum { EXACT_DIGITS = 15, EXACT_POWER = 22, LONGEST_FIELD = 512 };

static const double powers[EXACT_POWER + 1] = {
    1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
    1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

/* A field taken apart: value = digits * 10^power. */
struct decimal {
    uint64_t digits;
    int n_digits; /* without leading zeros; > EXACT_DIGITS: digits are cut */
    int power;
    bool negative;
};

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* Leading zeros do not count towards the 15, so that 0.000000000000123 is exact
 * too. */
static const char *scan_digits(const char *at,
                               const char *end,
                               int power_step,
                               struct decimal *out)
{
    for (; at < end && is_digit(*at); at++) {
        if (out->n_digits > 0 || *at != '0')
            out->n_digits++;
        /* What is beyond is counted but not kept: strtod reads it from the text
         * again. */
        if (out->n_digits <= EXACT_DIGITS)
            out->digits = out->digits * 10 + (uint64_t)(*at - '0');
        out->power -= power_step;
    }
    return at;
}

/* Reads "e+12" at `at`. An exponent of five digits or more saturates: it is an
 * overflow or a zero either way, and strtod decides. */
static const char *scan_exponent(const char *at,
                                 const char *end,
                                 struct decimal *out)
{
    const char *digits = at + 1;
    const bool negative = digits < end && *digits == '-';
    if (digits < end && (*digits == '-' || *digits == '+'))
        digits++;
    if (digits == end || !is_digit(*digits))
        return NULL;
    int exponent = 0;
    for (; digits < end && is_digit(*digits); digits++)
        exponent = exponent < 10000 ? exponent * 10 + (*digits - '0') : 10000;
    out->power += negative ? -exponent : exponent;
    return digits;
}

/* Digits into a whole number and a power of ten: "12.50" is 1250 and -2. */
static bool scan(const char *text,
                 size_t length,
                 char point,
                 struct decimal *out)
{
    const char *at = text;
    const char *end = text + length;
    *out = (struct decimal){0};
    if (at < end && (*at == '-' || *at == '+'))
        out->negative = *at++ == '-';
    const char *whole = at;
    at = scan_digits(at, end, 0, out);
    size_t seen = (size_t)(at - whole);
    if (at < end && *at == point) {
        const char *fraction = at + 1;
        at = scan_digits(fraction, end, 1, out);
        seen += (size_t)(at - fraction);
    }
    /* "." and "-" are no numbers; "5." and ".5" are. */
    if (seen == 0)
        return false;
    if (at < end && (*at == 'e' || *at == 'E'))
        at = scan_exponent(at, end, out);
    return at == end;
}

/* The decimal point that the host program's locale asks of strtod. */
static const char *locale_point(char *buffer, size_t size)
{
    /* Asked by printing a number: localeconv() is not safe with threads, and
     * the host program may have any locale. What stands between the two digits
     * is the mark. */
    snprintf(buffer, size, "%.1f", 0.5);
    buffer[strlen(buffer) - 1] = '\0';
    return buffer + 1;
}

/* The field again, with the decimal point that strtod expects. */
static bool parse_slowly(const char *text,
                         size_t length,
                         char point,
                         double *out)
{
    char around[16];
    char copy[LONGEST_FIELD + sizeof around];
    if (length > LONGEST_FIELD)
        return false;
    const char *mark = locale_point(around, sizeof around);
    size_t n = 0;
    for (size_t i = 0; i < length; i++) {
        if (text[i] != point) {
            copy[n++] = text[i];
            continue;
        }
        memcpy(copy + n, mark, strlen(mark));
        n += strlen(mark);
    }
    copy[n] = '\0';
    char *stopped = NULL;
    const double value = strtod(copy, &stopped);
    /* "1e999" is written by no sensor. An overflow is a fault of the field. */
    if (stopped != copy + n || !isfinite(value))
        return false;
    *out = value;
    return true;
}

/* Adds digits to *digits; most of the time of reading a log is spent here. */
static const char *take_digits(const char *at,
                               const char *end,
                               uint64_t *digits)
{
    for (; at < end; at++) {
        const unsigned char digit = (unsigned char)(*at - '0');
        if (digit > 9)
            break;
        *digits = *digits * 10 + digit;
    }
    return at;
}

/* The usual field, such as "-12.5": short, without an exponent.
 *
 * returns  false for anything else, also for what is no number. */
static bool parse_short(const char *text,
                        size_t length,
                        char point,
                        double *out)
{
    /* A length of 0 wraps round and is refused with the long ones. */
    if (length - 1 >= EXACT_DIGITS)
        return false;
    const char *end = text + length;
    const bool negative = *text == '-';
    const char *first = text + negative;
    uint64_t digits = 0;
    size_t n_decimals = 0;
    const char *at = take_digits(first, end, &digits);
    if (at == first)
        return false;
    if (at < end && *at == point) {
        first = at + 1;
        at = take_digits(first, end, &digits);
        n_decimals = (size_t)(at - first);
    }
    if (at != end)
        return false;
    /* One rounding of two exact numbers is the nearest double. By way of a
     * signed integer, which the processor converts in one instruction. */
    const double size = (double)(int64_t)digits / powers[n_decimals];
    *out = negative ? -size : size;
    return true;
}

/* Digits and power are both exact as doubles up to a point, and one
 * multiplication rounds once: the nearest double, without strtod() and its
 * locale (Clinger 1990, the fast path; from memory). */
bool kw_number_parse(const char *text, size_t length, char point, double *out)
{
    struct decimal number;
    if (parse_short(text, length, point, out))
        return true;
    if (!scan(text, length, point, &number))
        return false;
    /* Beyond these either factor is rounded already, and two roundings may miss
     * the nearest double. */
    if (number.n_digits > EXACT_DIGITS || number.power > EXACT_POWER ||
        number.power < -EXACT_POWER)
        return parse_slowly(text, length, point, out);
    const double digits = (double)number.digits;
    const double size = number.power < 0 ? digits / powers[-number.power]
                                         : digits * powers[number.power];
    *out = number.negative ? -size : size;
    return true;
}

/* printf writes the locale's decimal mark, which may be several bytes: every
 * run of bytes that belongs to no number becomes one point. */
static void put_point(char *text)
{
    char *to = text;
    bool in_mark = false;
    for (const char *from = text; *from != '\0'; from++) {
        const bool mark = !is_digit(*from) && strchr("+-einfa", *from) == NULL;
        if (!mark)
            *to++ = *from;
        else if (!in_mark)
            *to++ = '.';
        in_mark = mark;
    }
    *to = '\0';
}

/* The locale's decimal comma, where it wrote one, is put right behind it. */
const char *kw_number_print(char *buffer, double value, int decimals)
{
    const size_t size = KW_NUMBER_SIZE;
    if (!isfinite(value)) {
        memcpy(buffer, "-", 2);
        return buffer;
    }
    int length = snprintf(buffer, size, "%.*f", decimals, value);
    /* Numbers of more digits than the buffer holds are no measurements; they
     * are shown with an exponent rather than cut. */
    if (length < 0 || (size_t)length >= size)
        snprintf(buffer, size, "%.*e", 15, value);
    put_point(buffer);
    /* "-0.0" would puzzle a reader: a sign with nothing but zeros goes. */
    if (buffer[0] == '-' && strspn(buffer + 1, "0.") == strlen(buffer + 1))
        memmove(buffer, buffer + 1, strlen(buffer));
    return buffer;
}

/* Too large a number, or one with an exponent, is left as it is. */
const char *kw_number_print_whole(char *buffer, double value)
{
    char digits[KW_NUMBER_SIZE];
    kw_number_print(digits, value, 0);
    const size_t length = strlen(digits);
    const size_t sign = digits[0] == '-' ? 1 : 0;
    const bool marked = strspn(digits + sign, "0123456789") == length - sign &&
                        length + length / 3 < KW_NUMBER_SIZE;
    size_t n = 0;
    for (size_t i = 0; i < length; i++) {
        if (marked && i > sign && (length - i) % 3 == 0)
            buffer[n++] = ',';
        buffer[n++] = digits[i];
    }
    buffer[n] = '\0';
    return buffer;
}
