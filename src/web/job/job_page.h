// SPDX-License-Identifier: MIT
// What the parts of the job's page share: the job with its deck and owner, and
// where it stands. One part is open, the others are a line each.
#ifndef DW_WEB_JOB_PAGE_H
#define DW_WEB_JOB_PAGE_H

#include "book/entry/job_numbers.h"
#include "book/entry/work_line.h"
#include "book/job/intake.h"
#include "book/shop/deck.h"
#include "web/page/page.h"
#include "web/server/request.h"

// The part after the stations: moving the job on, and what the owner was told.
enum { DW_JOB_PART_STATE = DW_STATION_COUNT, DW_JOB_PART_COUNT };

typedef struct {
    const DwWebRequest *request;
    DwPage *page;
    DwJob job;
    DwDeck deck; // empty when the job has none
    DwCustomer owner;
    DwIntake intake; // empty before the deck was taken in
    DwWorkFacts facts;
    DwStation stations[DW_STATION_COUNT];
    DwJobNumbers numbers;
    int open;         // the part that is open: a DwStationKind, or DW_JOB_PART_STATE
    char *set_up_why; // why a setting must be looked at again, or NULL
    char path[32];    // "/job/0042"
} DwJobView;

// The word by which PART goes in addresses ("findings", "state"), and its name. Valid for ever.
const char *dw_job_part_key(int part);
const char *dw_job_part_name(int part);
// The part that the page shows open: what the address asks for, else where the work is.
int dw_job_part_open(const DwJobView *view);
// "/job/0042?at=findings#findings". The caller frees it with free().
char *dw_job_part_path(const DwJobView *view, int part);

// Begins the section of a part that is open: its heading and what is missing.
void dw_job_section_begin(DwJobView *view, int part);
void dw_job_section_end(DwJobView *view);
// Begins a part of a section that is folded under WORDS with a line of what it HOLDS ("" for
// none), OPEN when something in it is being done; and ends it.
void dw_job_section_fold(DwJobView *view, const char *id, const char *words, const char *holds, bool open);
void dw_job_section_unfold(DwJobView *view);
// Whether the address opens the form of an entry of ENTITY.
bool dw_job_section_opens(const DwJobView *view, const DwEntity *entity);
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
void dw_job_page_as_received(DwJobView *view);
void dw_job_page_findings(DwJobView *view);
void dw_job_page_estimate(DwJobView *view);
void dw_job_page_work(DwJobView *view);
// Within the work: its plan, step by step.
void dw_job_page_plan(DwJobView *view);
void dw_job_page_set_up(DwJobView *view);
void dw_job_page_as_left(DwJobView *view);
void dw_job_page_papers(DwJobView *view);
void dw_job_page_state(DwJobView *view);
// The job's invoices, in its papers.
void dw_job_page_invoices(DwJobView *view);

// What a part that is folded says of itself, its numbers first. The caller frees it with free().
char *dw_job_fold_words(const DwJobView *view, int part);
// What to do now, before all else, with the one touch that does it.
void dw_job_now_write(DwJobView *view);
// What stands beside the work: the deck in plan, what is known of it, its pictures.
void dw_job_aside_write(DwJobView *view);
// The deck drawn in plan, its places to touch and its marks.
void dw_job_deck_write(DwJobView *view);

// What usually comes with a deck, NULL past the last.
const char *dw_job_accessory_at(size_t index);

#endif
