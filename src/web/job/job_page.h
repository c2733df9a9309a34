// SPDX-License-Identifier: MIT
// What the parts of the job's page share: the job with its deck and owner, and
// where it stands. Each part writes one station's section.
#ifndef DW_WEB_JOB_PAGE_H
#define DW_WEB_JOB_PAGE_H

#include "book/entry/work_line.h"
#include "book/job/intake.h"
#include "book/shop/deck.h"
#include "web/page/page.h"
#include "web/server/request.h"

typedef struct {
    const DwWebRequest *request;
    DwPage *page;
    DwJob job;
    DwDeck deck; // empty when the job has none
    DwCustomer owner;
    DwIntake intake; // empty before the deck was taken in
    DwStation stations[DW_STATION_COUNT];
    char *set_up_why; // why a setting must be looked at again, or NULL
    char path[32];    // "/job/0042"
} DwJobView;

// Begins the section of a station: its heading and what is missing.
void dw_job_section_begin(DwJobView *view, DwStationKind kind);
void dw_job_section_end(DwJobView *view);
// The records of ENTITY whose reference KEY is ID as a list: of forms that open in
// place, or, when FIXED, of what stands and is not changed.
void dw_job_section_list(DwJobView *view, const DwEntity *entity, const char *key, int64_t id, const char *columns,
                         bool fixed);
// Begins a form that posts to PATH/ACT of the job.
void dw_job_section_form(DwJobView *view, const char *act);
// AMOUNT with the currency; "–" for none. The caller frees it with free().
char *dw_job_section_amount(const DwJobView *view, int64_t amount);

// The parts of a job's page in its order; each writes its own heading, marks and forms.
void dw_job_page_intake(DwJobView *view);
void dw_job_page_safety(DwJobView *view);
void dw_job_page_measured(DwJobView *view, DwPhase phase);
void dw_job_page_findings(DwJobView *view);
void dw_job_page_estimate(DwJobView *view);
void dw_job_page_work(DwJobView *view);
// Within the work: its plan, step by step.
void dw_job_page_plan(DwJobView *view);
void dw_job_page_set_up(DwJobView *view);
void dw_job_page_papers(DwJobView *view);
// After the stations: moving the job on, and what the owner was told.
void dw_job_page_state(DwJobView *view);

// What usually comes with a deck, NULL past the last.
const char *dw_job_accessory_at(size_t index);

#endif
