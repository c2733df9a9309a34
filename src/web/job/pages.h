// SPDX-License-Identifier: MIT
// The board, the pages of a job, belts and what is due.
#ifndef DW_WEB_JOB_PAGES_H
#define DW_WEB_JOB_PAGES_H

#include "web/server/route.h"

extern const DwWebRoute dw_routes_belt[];
extern const DwWebRoute dw_routes_board[];
extern const DwWebRoute dw_routes_guide[];
extern const DwWebRoute dw_routes_job[];
extern const DwWebRoute dw_routes_job_act[];
extern const DwWebRoute dw_routes_job_move[];
extern const DwWebRoute dw_routes_job_new[];
extern const DwWebRoute dw_routes_job_plan[];
extern const DwWebRoute dw_routes_journal[];
extern const DwWebRoute dw_routes_left[];
extern const DwWebRoute dw_routes_setup[];

#endif
