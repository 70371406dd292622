/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writes the label file and the kart profile that go with a log. */
#ifndef SIM_JSON_H
#define SIM_JSON_H

#include "sim_dialect.h"
#include "sim_label.h"

/* What a label file is made from. `stem` is the name without ending. */
struct sim_product {
    const struct sim_session *session;
    const struct sim_dialect *dialect;
    const struct sim_trace *trace;
    const struct sim_labels *labels;
    const char *stem;
};

/* Both end the program when the file cannot be written. */
void sim_labels_write(const struct sim_product *product, const char *path);
void sim_profile_write(const struct sim_product *product, const char *path);

#endif
