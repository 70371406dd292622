/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What keeps lines from being a table is said, and only where it does. */
#include "support/check.h"

#include "import/line_shape.h"

#include <string.h>

struct shape_case {
    const char *text;
    const char *what;
};

static void test_line_shape__is_told_by_most_lines(void **state)
{
    (void)state;
    static const struct shape_case cases[] = {
        {"Time RPM\n0.0 6000\n0.1 6000\n0.2 6000\n",
         "the fields are parted by blanks"},
        {"\"t\" \"n\"\r\n\"1\" 0,1 6000\r\n\"2\" 0,2 6000\r\n\"3\" 0,3 1\r\n",
         "the fields are parted by blanks"},
        {"Ring\nT N EGT\n10:05:12,8 1 -\n10:05:12,9 1 -\n10:05:13,0 1 -\n",
         "the fields are parted by blanks"},
        {"N Lat\n2013 50\xC2\xB0"
         "59.1'\n2013 50\xC2\xB0"
         "59.1'\n2013 50\xC2\xB0"
         "59.1'\n",
         "the fields are parted by blanks"},
        {"\"Time,RPM\"\n\"0.0,6000\"\n\"0.1,6000\"\n",
         "each whole line stands between quotes, as one field"},
        {"t,n\n(0.0,6000),\n(0.1,6000),\n(0.2,6000),\n",
         "each line stands between brackets"},
        {"t=0.0,rpm=6000\nt=0.1,rpm=6000\nt=0.2,rpm=6000\n",
         "each value has its name in front, as in rpm=1980"},
        {"t,n\n\033[0m0,1\033[0m\n\033[0m1,1\033[0m\n\033[0m2,1\033[0m\n",
         "the lines hold the colours of a terminal"},
        {"Time,RPM\n0.0,6000\n0.1,6000\n0.2,6000\n", NULL},
        {"\"Time\",\"RPM\"\n\"0\",\"1\"\n\"1\",\"1\"\n", NULL},
        {"t,n\n=\"0\",=\"1\"\n=\"1\",=\"1\"\n=\"2\",=\"1\"\n", NULL},
        {"a note\n12 13\nanother note\n14 15\n", NULL},
        {"t,n,c\n0.0,1,Ring 1\n0.1,1,Ring 1\n0.2,1,Ring 1\n", NULL},
        {"t;n\n0,0;1 1\n0,1;1 1\n0,2;1 1\n", NULL},
        {"6000\n6000\n6000\n", NULL},
        {"\"\n\"\n\"\n(\n=\n", NULL},
        {"", NULL},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const char *what = NULL;
        const char *todo = NULL;
        const bool found =
            kw_line_shape(cases[i].text, strlen(cases[i].text), &what, &todo);
        check_true(cases[i].text, found == (cases[i].what != NULL));
        if (found)
            assert_string_equal(what, cases[i].what);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_line_shape__is_told_by_most_lines),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
