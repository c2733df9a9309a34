// SPDX-License-Identifier: MIT
// What a page of the guide works on: the knowledge, and one deck's case weighed. On a job the answers are what the book
// keeps; without one, on the telephone, they stand in the page's address.
#ifndef DW_WEB_JOB_GUIDE_VISIT_H
#define DW_WEB_JOB_GUIDE_VISIT_H

#include "book/job/job.h"
#include "guide/guide_work.h"
#include "web/server/answer.h"
#include "web/page/page.h"
#include "web/server/request.h"

enum { DW_GUIDE_CALL_QUESTIONS = 5 }; // of a call with an owner

typedef struct {
    const DwWebRequest *request;
    const DwGuideKnowledge *knowledge;
    DwGuideCase guide_case;
    DwGuideReasons reasons;
    DwGuideWorks works;
    DwJob job; // record.id 0 without one
    char *path;
    const char *said; // without a job: "symptom.hum=yes;drive.kind=belt", "" at the beginning
    unsigned asked;   // without a job: how many of the answers were asked for
} DwGuideVisit;

// Opens the visit of a page at "/job/:number/guide" or "/guide". Returned: whether it is there; *REFUSAL is the answer
// else. The caller ends it with dw_guide_visit_close(), whatever is returned.
bool dw_guide_visit_open(const DwWebRequest *request, DwGuideVisit *visit, DwAnswer *refusal);
void dw_guide_visit_close(DwGuideVisit *visit);

// The answers so far as an address says them: "symptom.hum=yes;drive.kind=belt;". The caller frees it with free().
char *dw_guide_visit_said(const DwGuideVisit *visit);
// Weighs the case anew after an answer.
DwStatus dw_guide_visit_weigh(DwGuideVisit *visit, DwMessage *message);
// Keeps the case as the job's path.
DwStatus dw_guide_visit_keep(DwGuideVisit *visit, DwMessage *message);
// What is asked next: the test named by the address's "test" as long as a finding of it is open, else the best step;
// NULL where nothing is. On the telephone only what an owner can say.
const DwGuideStep *dw_guide_visit_step(const DwGuideVisit *visit);
// The first sign that STEP asks of; -1 for the drive.
int dw_guide_visit_sign(const DwGuideVisit *visit, const DwGuideStep *step);

// --- what a page shows of its case beside the question (guide_view.c) ------------

// What must be heeded before anything is tried.
void dw_guide_view_cautions(DwPage *page, const DwGuideVisit *visit);
// The likely causes, each with a bar of its odds, and what the last answer moved them from.
void dw_guide_view_causes(DwPage *page, const DwGuideVisit *visit);
// On a job: the work that follows, and its way into the estimate.
void dw_guide_view_work(DwPage *page, const DwGuideVisit *visit);
// On the telephone: for each likely cause the work, its minutes, roughly its cost, and the parts to bring.
void dw_guide_view_call(DwPage *page, const DwGuideVisit *visit);
// What was answered so far.
void dw_guide_view_path(DwPage *page, const DwGuideVisit *visit);

#endif
