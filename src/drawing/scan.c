/* Reading numbers and words: see scan.h. Numbers are gathered as digits and a power of ten. Most are then exact in
 * double arithmetic (Clinger, How to read floating point numbers accurately, 1990); the rest go to strtod in the "C"
 * locale. */
#include "drawing/scan.h"

#include <locale.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* No double, and no point half way between two, has more significant digits than 767; what follows matters only by
 * being zero or not. */
enum { MOST_DIGITS = 780, MOST_EXPONENT = 99999, MOST_EXACT_POWER = 22 };

bool scan_is_space(char c) {
    return c == ' ' || c == '\t' || c == '\n' || c == '\r' || c == '\f';
}

bool scan_is_letter(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

bool scan_is_digit(char c) {
    return c >= '0' && c <= '9';
}

char scan_lower(char c) {
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

void scan_spaces(const char **at) {
    while (scan_is_space(**at)) ++*at;
}

bool scan_separator(const char **at) {
    scan_spaces(at);
    bool comma = scan_char(at, ',');
    if (comma) scan_spaces(at);
    return comma;
}

bool scan_char(const char **at, char c) {
    if (**at != c || c == '\0') return false;
    ++*at;
    return true;
}

bool scan_text(const char **at, const char *text) {
    const char *s = *at;
    for (; *text; s++, text++)
        if (scan_lower(*s) != scan_lower(*text)) return false;
    *at = s;
    return true;
}

bool scan_word(const char **at, const char *word) {
    const char *s = *at;
    if (!scan_text(&s, word) || scan_is_letter(*s) || scan_is_digit(*s) || *s == '-' || *s == '_') return false;
    *at = s;
    return true;
}

bool scan_is_word(const char *text, const char *word) {
    scan_spaces(&text);
    if (!scan_text(&text, word)) return false;
    scan_spaces(&text);
    return *text == '\0';
}

bool scan_same(const char *a, const char *b) {
    while (*a && scan_lower(*a) == scan_lower(*b)) a++, b++;
    return *a == *b;
}

typedef struct decimal {
    char digits[MOST_DIGITS + 2]; /* without leading zeros */
    int count;
    long exponent; /* value = digits * 10^exponent */
    bool more;     /* digits other than 0 were dropped at the end */
} decimal;

static void add_digit(decimal *number, char digit, bool after_point) {
    if (number->count == 0 && digit == '0') {
        number->exponent -= after_point;
    } else if (number->count < MOST_DIGITS) {
        number->digits[number->count++] = digit;
        number->exponent -= after_point;
    } else {
        number->more |= digit != '0';
        number->exponent += !after_point;
    }
}

static const char *scan_digits(const char *s, decimal *number) {
    const char *start = s;
    size_t seen = 0;
    for (; scan_is_digit(*s); s++, seen++) add_digit(number, *s, false);
    if (*s == '.' && (seen || scan_is_digit(s[1])))
        for (s++; scan_is_digit(*s); s++, seen++) add_digit(number, *s, true);
    return seen ? s : start;
}

static const char *scan_exponent(const char *s, decimal *number) {
    if (*s != 'e' && *s != 'E') return s;
    const char *t = s + 1;
    bool negative = *t == '-';
    if (*t == '+' || *t == '-') t++;
    if (!scan_is_digit(*t)) return s;
    long exponent = 0;
    for (; scan_is_digit(*t); t++)
        if (exponent <= MOST_EXPONENT) exponent = exponent * 10 + (*t - '0');
    number->exponent += negative ? -exponent : exponent;
    return t;
}

static double round_slowly(decimal *number) {
    if (number->more) {
        number->digits[number->count++] = '1';
        number->exponent--;
    }
    char text[MOST_DIGITS + 32];
    snprintf(text, sizeof text, "%.*se%ld", number->count, number->digits, number->exponent);
    locale_t plain = newlocale(LC_ALL_MASK, "C", (locale_t)0);
    locale_t before = plain ? uselocale(plain) : (locale_t)0;
    double value = strtod(text, NULL);
    if (plain) {
        uselocale(before);
        freelocale(plain);
    }
    return value;
}

static double value_of(decimal *number) {
    static const double powers[MOST_EXACT_POWER + 1] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                                        1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                                        1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
    if (number->count == 0) return 0.0;
    if (number->count > 15 || labs(number->exponent) > MOST_EXACT_POWER) return round_slowly(number);
    int64_t whole = 0;
    for (int i = 0; i < number->count; i++) whole = whole * 10 + (number->digits[i] - '0');
    return number->exponent < 0 ? (double)whole / powers[-number->exponent] : (double)whole * powers[number->exponent];
}

bool scan_number(const char **at, double *out) {
    const char *s = *at;
    bool negative = *s == '-';
    if (*s == '+' || *s == '-') s++;
    decimal number;
    number.count = 0;
    number.exponent = 0;
    number.more = false;
    const char *end = scan_digits(s, &number);
    if (end == s) return false;
    *at = scan_exponent(end, &number);
    double value = value_of(&number);
    *out = negative ? -value : value;
    return true;
}

bool scan_lone_number(const char *text, double *out) {
    double value;
    scan_spaces(&text);
    if (!scan_number(&text, &value)) return false;
    scan_spaces(&text);
    if (*text) return false;
    *out = value;
    return true;
}
