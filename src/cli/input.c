/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The kart's profile, and which column holds what.
 *
 * Every command that reads logs takes the same three options, and each log of
 * a command is read with the same choices. */
#include "cli/input.h"

#include "core/array.h"
#include "core/fail.h"
#include "core/text.h"

#include <stdlib.h>
#include <string.h>

/* One reading in ten seconds shows nothing of an engine, and no logger of karts
 * writes more than some thousand (common practice, no source). Beyond lie
 * slips: the time between readings, in seconds or in microseconds. */
static const double LOWEST_RATE_HZ = 0.1;
static const double HIGHEST_RATE_HZ = 20000.0;

/* Says what was given and how it is written right. */
static enum kw_status wrong_column(const char *word,
                                   const char *why,
                                   const char *todo,
                                   struct kw_error *error)
{
    struct kw_text what = {0};
    kw_text_add(&what, "--column '");
    kw_text_add(&what, word);
    kw_text_add(&what, "': ");
    kw_text_add(&what, why);
    const struct kw_refusal refusal = {.status = KW_BAD_USAGE, .todo = todo};
    return kw_fail_text(error, &refusal, &what);
}

/* With all that there are: they are few. */
static enum kw_status unknown_role(const char *word, struct kw_error *error)
{
    struct kw_text todo = {0};
    kw_text_add(&todo, "the roles are ");
    for (int role = 0; role < KW_N_ROLES; role++)
        kw_text_addf(&todo, "%s%s", role == 0 ? "" : ", ",
                     kw_role_name((enum kw_role)role));
    const enum kw_status status =
        kw_text_failed(&todo)
            ? kw_fail_memory(error)
            : wrong_column(word, "no such role", todo.bytes, error);
    kw_text_free(&todo);
    return status;
}

/* "rpm=Engine speed" becomes a role and a heading. */
static enum kw_status read_choice(const char *word,
                                  struct kw_column_choice *choice,
                                  struct kw_error *error)
{
    const char *equals = strchr(word, '=');
    /* The first equals sign: a heading may have others in it. */
    if (equals == NULL || equals[1] == '\0')
        return wrong_column(word, "no role and heading",
                            "write --column \"rpm=Engine speed\"; 'kartwright "
                            "columns LOG.csv' shows the headings",
                            error);
    struct kw_text role = {0};
    kw_text_add_bytes(&role, word, (size_t)(equals - word));
    if (kw_text_failed(&role)) {
        kw_text_free(&role);
        return kw_fail_memory(error);
    }
    choice->role = kw_role_from_name(role.bytes);
    kw_text_free(&role);
    if (choice->role == KW_N_ROLES)
        return unknown_role(word, error);
    choice->heading = kw_text_duplicate(equals + 1, error);
    return choice->heading == NULL ? KW_NO_MEMORY : KW_OK;
}

/* A role has one column, and of two headings one would be dropped in silence;
 * only exhausts may have several probes.
 *
 * n  of the choices before this one. */
static enum kw_status check_column(const struct kw_column_choice *choices,
                                   size_t n,
                                   const char *word,
                                   struct kw_error *error)
{
    const struct kw_column_choice *last = &choices[n];
    for (size_t i = 0; i < n && last->role != KW_ROLE_EGT; i++) {
        if (choices[i].role == last->role &&
            strcmp(choices[i].heading, last->heading) != 0)
            return wrong_column(word, "another column has that role already",
                                "give each role but egt once", error);
    }
    return KW_OK;
}

/* The command's choices first: they win over the profile's. */
static enum kw_status choose_columns(struct input *input,
                                     const struct words *columns,
                                     struct kw_error *error)
{
    const struct kw_profile *profile = &input->profile;
    /* One list for both, for the import room knows nothing of where a choice
     * came from. */
    const size_t n = columns->n + profile->n_columns;
    input->choices = kw_array_new(n, sizeof *input->choices, error);
    if (input->choices == NULL)
        return KW_NO_MEMORY;
    for (size_t i = 0; i < columns->n; i++) {
        enum kw_status status =
            read_choice(columns->items[i], &input->choices[i], error);
        if (status != KW_OK)
            return status;
        input->n_owned = ++input->n_choices;
        status = check_column(input->choices, i, columns->items[i], error);
        if (status != KW_OK)
            return status;
    }
    for (size_t i = 0; i < profile->n_columns; i++)
        input->choices[input->n_choices++] = profile->columns[i];
    return KW_OK;
}

/* A profile that cannot be read stops everything: its limits would be missed in
 * silence. */
enum kw_status input_open(struct input *input,
                          const struct input_words *words,
                          struct kw_error *error)
{
    *input = (struct input){.rate_hz = words->rate_hz};
    kw_profile_init(&input->profile);
    /* 0 is "not given". */
    if (words->rate_hz > 0.0 &&
        (words->rate_hz < LOWEST_RATE_HZ || words->rate_hz > HIGHEST_RATE_HZ))
        return refuse_usage(error, "--rate must be from 0.1 to 20000 Hz",
                            "give the samples each second, for instance 20");
    enum kw_status status = KW_OK;
    if (words->kart != NULL)
        status = kw_profile_read(words->kart, &input->profile, error);
    if (status == KW_OK)
        status = choose_columns(input, &words->columns, error);
    return status;
}

/* The same choices for every log of a command. */
enum kw_status input_read(const struct input *input,
                          const char *path,
                          struct kw_log *log,
                          struct kw_error *error)
{
    const struct kw_import_options options = {
        .rate_hz = input->rate_hz,
        .rpm_per_m_s = kw_profile_rpm_per_m_s(&input->profile),
        .choices = input->choices,
        .n_choices = input->n_choices};
    return kw_log_read(path, &options, log, error);
}

/* Only the headings of --column are ours; the profile frees its own. */
void input_close(struct input *input)
{
    for (size_t i = 0; i < input->n_owned; i++)
        free(input->choices[i].heading);
    free(input->choices);
    kw_profile_free(&input->profile);
    *input = (struct input){0};
}
