/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Strength, other faults, confidence and the list; see score_report.h. */
#include "score_report.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A table cell of found and labelled. */
struct cell {
    size_t found, n;
};

static void put_cell(const struct score_pen *pen, const struct cell *cell)
{
    const char *form = pen->markdown ? "| %zu of %zu " : "\t%zu of %zu";
    fprintf(pen->out, form, cell->found, cell->n);
}

static void end_row(const struct score_pen *pen)
{
    fputs(pen->markdown ? "|\n" : "\n", pen->out);
}

static void head_row(const struct score_pen *pen,
                     const char *const *titles,
                     size_t n)
{
    for (size_t i = 0; i < n; i++)
        fprintf(pen->out,
                pen->markdown ? "| %s "
                : i == 0      ? "%-22s"
                              : "\t%s",
                titles[i]);
    end_row(pen);
    for (size_t i = 0; pen->markdown && i < n; i++)
        fputs("| --- ", pen->out);
    if (pen->markdown)
        end_row(pen);
}

/* Labels of one field inside a box of strength and duration. */
struct box {
    enum score_field field;
    const char *kind;
    double strength[2], for_s[2];
};

static struct cell count_box(const struct score_sample *all,
                             const struct box *box)
{
    struct cell cell = {0};
    for (size_t i = 0; i < all->n; i++)
        for (size_t k = 0; k < all->items[i]->n_outcomes; k++) {
            const struct score_outcome *outcome = &all->items[i]->outcome[k];
            if (outcome->field != box->field ||
                (box->kind != NULL && (outcome->kind == NULL ||
                                       strcmp(outcome->kind, box->kind) != 0)))
                continue;
            if (outcome->strength < box->strength[0] ||
                outcome->strength >= box->strength[1] ||
                outcome->for_s < box->for_s[0] ||
                outcome->for_s >= box->for_s[1])
                continue;
            cell.n++;
            cell.found += outcome->touched ? 1 : 0;
        }
    return cell;
}

static const double LEAN_BAND[] = {3, 4, 5, 6, 7, 8, 10, 12, 100};
static const double LEAN_FOR_S[] = {2, 4, 6, 10, 1e9};

static void put_lean(const struct score_pen *pen,
                     const struct score_sample *all)
{
    static const char *const TITLE[] = {"lean, found (any overlap)", "2-4 s",
                                        "4-6 s", "6-10 s", "10 s up"};
    head_row(pen, TITLE, 5);
    for (size_t i = 0; i + 1 < sizeof LEAN_BAND / sizeof LEAN_BAND[0]; i++) {
        fprintf(pen->out,
                pen->markdown ? "| %.0f to %.0f %% "
                              : "%3.0f to %3.0f %%          ",
                LEAN_BAND[i], LEAN_BAND[i + 1]);
        for (size_t k = 0; k < 4; k++) {
            const struct cell cell = count_box(
                all, &(struct box){SCORE_LEAN,
                                   NULL,
                                   {LEAN_BAND[i], LEAN_BAND[i + 1]},
                                   {LEAN_FOR_S[k], LEAN_FOR_S[k + 1]}});
            put_cell(pen, &cell);
        }
        end_row(pen);
    }
}

static void put_dropouts(const struct score_pen *pen,
                         const struct score_sample *all)
{
    static const char *const TITLE[] = {"drop-outs, found", "below 0.15 s",
                                        "0.15-0.5 s", "0.5-2 s", "2 s up"};
    static const char *const CAUSE[] = {"loose_connection", "spark_cut",
                                        "fuel_restriction"};
    static const double FOR_S[] = {0, 0.15, 0.5, 2.0, 1e9};
    static const double DEPTH[] = {0, 400, 1000, 3000, 1e9};
    head_row(pen, TITLE, 5);
    for (size_t c = 0; c < 3; c++)
        for (size_t d = 0; d < 4; d++) {
            fprintf(pen->out,
                    pen->markdown ? "| %s from %.0f RPM " : "%-16s %4.0f up ",
                    CAUSE[c], DEPTH[d]);
            for (size_t k = 0; k < 4; k++) {
                const struct cell cell =
                    count_box(all, &(struct box){SCORE_DROPOUT,
                                                 CAUSE[c],
                                                 {DEPTH[d], DEPTH[d + 1]},
                                                 {FOR_S[k], FOR_S[k + 1]}});
                put_cell(pen, &cell);
            }
            end_row(pen);
        }
}

void score_put_strength(const struct score_pen *pen,
                        const struct score_sample *all)
{
    put_lean(pen, all);
    fputc('\n', pen->out);
    put_dropouts(pen, all);
}

void score_put_strength_data(FILE *out, const struct score_sample *all)
{
    fputs(
        "# percent lean (middle of the band), labels of 6 s and more, found\n",
        out);
    for (double from = 3.0; from < 14.9; from += 1.0) {
        const struct cell cell = count_box(
            all,
            &(struct box){SCORE_LEAN, NULL, {from, from + 1.0}, {6.0, 1e9}});
        fprintf(out, "%.1f %zu %zu\n", from + 0.5, cell.n, cell.found);
    }
}

void score_put_kinds(const struct score_pen *pen,
                     const struct score_sample *all)
{
    static const char *const TITLE[] = {"other faults", "found", "false"};
    head_row(pen, TITLE, 3);
    for (size_t k = 0; k < SCORE_KINDS; k++) {
        double labels = 0.0, found = 0.0, wrong = 0.0;
        for (size_t i = 0; i < all->n; i++) {
            labels += all->items[i]->kind_labels[k];
            found += all->items[i]->kind_found[k];
            wrong += all->items[i]->kind_false[k];
        }
        fprintf(pen->out,
                pen->markdown ? "| %s | %.0f of %.0f | %.0f "
                              : "%-22s\t%.0f of %.0f\t%.0f",
                SCORE_KIND[k], found, labels, wrong);
        end_row(pen);
    }
}

void score_put_confidence(const struct score_pen *pen,
                          const struct score_sample *all)
{
    static const char *const TITLE[] = {"confidence told", "mean", "right"};
    static const double BAND[] = {0.0, 0.5, 0.7, 0.85, 0.95, 1.01};
    head_row(pen, TITLE, 3);
    for (size_t b = 0; b < 5; b++) {
        struct cell cell = {0};
        double sum = 0.0;
        for (size_t i = 0; i < all->n; i++)
            for (size_t k = 0; k < all->items[i]->n_claims; k++) {
                const struct score_claim *claim = &all->items[i]->claim[k];
                if (claim->field == SCORE_CLUTCH || claim->excused ||
                    !(claim->confidence >= BAND[b]) ||
                    claim->confidence >= BAND[b + 1])
                    continue;
                cell.n++;
                cell.found += claim->touches ? 1 : 0;
                sum += claim->confidence;
            }
        fprintf(pen->out,
                pen->markdown ? "| %.2f to %.2f | %.2f "
                              : "%.2f to %.2f          \t%.2f",
                BAND[b], fmin(BAND[b + 1], 1.0),
                cell.n > 0 ? sum / (double)cell.n : 0.0);
        put_cell(pen, &cell);
        end_row(pen);
    }
}

void score_put_ends(const struct score_pen *pen, const struct score_sample *all)
{
    size_t count[4] = {0}, unreadable = 0;
    double seconds = 0.0, worst_s = 0.0;
    for (size_t i = 0; i < all->n; i++) {
        count[all->items[i]->exit]++;
        unreadable +=
            all->items[i]->exit == SCORE_REVIEWED && !all->items[i]->readable
                ? 1
                : 0;
        seconds += all->items[i]->seconds;
        worst_s = fmax(worst_s, all->items[i]->seconds);
    }
    fprintf(pen->out,
            "%zu logs: %zu reviewed, %zu refused, %zu crashed, %zu timed out, "
            "%zu answers unreadable; %.2f s a log, %.2f s at most\n",
            all->n, count[SCORE_REVIEWED], count[SCORE_REFUSED],
            count[SCORE_CRASHED], count[SCORE_TIMED_OUT], unreadable,
            all->n > 0 ? seconds / (double)all->n : 0.0, worst_s);
}

static int by_faults(const void *a, const void *b)
{
    const struct score_result *x = *(const struct score_result *const *)a;
    const struct score_result *y = *(const struct score_result *const *)b;
    if (x->faults > y->faults || x->faults < y->faults)
        return x->faults > y->faults ? -1 : 1;
    return strcmp(x->labels->name, y->labels->name);
}

void score_put_list(const struct score_pen *pen,
                    const struct score_sample *all,
                    size_t most)
{
    struct score_sample sorted = {score_allocate(all->n, sizeof *sorted.items),
                                  all->n};
    for (size_t i = 0; i < all->n; i++)
        sorted.items[i] = all->items[i];
    qsort(sorted.items, sorted.n, sizeof *sorted.items, by_faults);
    for (size_t i = 0; i < sorted.n && i < most; i++) {
        const struct score_result *result = sorted.items[i];
        if (result->faults <= 0.0)
            break;
        fprintf(pen->out, "%s.csv: %s, %.4g Hz, %s%s%s\n%s",
                result->labels->name, result->labels->group,
                result->labels->rate_hz, result->labels->channels,
                result->labels->healthy ? ", healthy" : "",
                result->labels->line_known ? ", line known" : "", result->text);
    }
    free(sorted.items);
}
