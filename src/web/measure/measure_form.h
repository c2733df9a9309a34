// SPDX-License-Identifier: MIT
// The form of a procedure, made from its quantities: what the book knows of the
// job stands in it, what was typed stays in it, and what is wrong is said at the
// field it is wrong in.
#ifndef DW_WEB_MEASURE_FORM_H
#define DW_WEB_MEASURE_FORM_H

#include "book/job/job.h"
#include "procedure/registry/procedure.h"
#include "web/measure/question.h"
#include "web/page/page.h"
#include "web/server/request.h"

typedef struct {
    const DwProcedure *procedure;
    const DwQuestion *question;
    DwJob job;
    bool has_job;
    const char *as;   // received, during, left or ""
    const char *arm;  // the name of the one of several that it is of, "" for the deck's own; valid as long as ASKED
    DwInputs *asked;  // the same for the book
    int64_t same;     // the measurement that is repeated the same way, or 0
    DwInputs *known;  // from the book
    DwInputs *inputs; // as posted
    bool posted;
    char **wrong;     // for each of the procedure's quantities: what is wrong with it, or NULL
    char *recordings; // what is wrong with them, or NULL
    char *plan_path;  // where the record's plan lies, and what people call it; or NULL
    char *plan_name;
    char *trouble; // what no single field is to blame for, or NULL
} DwMeasureForm;

// Reads of the address which procedure is meant and for which job. False when
// there is no such one: REFUSAL says so. Else clear it in the end.
bool dw_measure_form_begin(const DwWebRequest *request, DwMeasureForm *form, DwAnswer *refusal);
void dw_measure_form_clear(DwMeasureForm *form);

// Takes the posted fields. False when one of them cannot be used.
bool dw_measure_form_read(const DwWebRequest *request, DwMeasureForm *form);
// Blames the field that MESSAGE names, in words that fit a page.
void dw_measure_form_blame(DwMeasureForm *form, const char *message);
// Whether anything is wrong.
bool dw_measure_form_is_wrong(const DwMeasureForm *form);

// Writes the whole form.
void dw_measure_form_write(DwPage *page, const DwMeasureForm *form);
// What is wrong with VALUE for QUANTITY, or NULL; the caller frees it with free().
char *dw_measure_form_check(const DwQuantity *quantity, const char *value);
// "/measure/speed?job=0012&as=received" with AFTER put before the '?'. The caller frees it with free().
char *dw_measure_form_path(const DwMeasureForm *form, const char *after);
// Puts SHEET, which FORM's inputs were measured with, aside until it is kept, and
// answers with the way to its page. Takes ownership of both.
DwAnswer dw_measure_form_put_aside(const DwWebRequest *request, DwMeasureForm *form, DwSheet *sheet);

// --- arm_choice.c --------------------------------------------------
// A deck may carry several arms: which one a form is of is chosen before anything of it is filled in.
#define DW_MEASURE_ARM "arm.name"

// Writes the choice where FORM is of a job and its procedure has to do with an arm.
void dw_arm_choice_write(DwPage *page, const DwMeasureForm *form);

// --- measure_plan.c ------------------------------------------------
// The plan of a test record's side is a file. A device names one of those the
// bench has, or sends its own; it never says where a file lies.

// Whether the quantity KEY is such a file.
bool dw_measure_plan_is(const char *key);
// Writes the fields that take it, CHOSEN standing first; WRONG may be NULL.
void dw_measure_plan_write(DwPage *page, const char *key, const char *label, const char *help, const char *chosen,
                           const char *wrong);
// Where the bench's own plan called NAME lies, or NULL. The caller frees it with free().
char *dw_measure_plan_path(const char *name);
// Where the plan lies that was sent or chosen for KEY, and its name: NULL both
// when there is none. False when no plan has the name that was sent. The caller
// frees both with free().
bool dw_measure_plan_find(const DwWebRequest *request, const char *key, char **path, char **name);

#endif
