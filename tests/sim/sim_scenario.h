/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Named sessions, each with one story, for samples and demonstrations. */
#ifndef SIM_SCENARIO_H
#define SIM_SCENARIO_H

#include "sim_dialect.h"

/* false when there is no scenario of that name. */
bool sim_scenario_draw(const char *name,
                       unsigned long seed,
                       struct sim_session *session,
                       struct sim_dialect *dialect);
void sim_scenario_list(FILE *out);

#endif
