// SPDX-License-Identifier: MIT
// The plan of a job's work as operations that are ticked off at the bench.
#include "base/memory.h"
#include "base/text.h"
#include "book/job/work.h"
#include "book/money/consent.h"
#include "book/money/unbilled.h"
#include "procedure/job/job_guide.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// One step that is to be done, with the remedy of the guide that is called so, or NULL.
typedef struct {
    const char *name;
    int64_t minutes, line;
    const DwGuideRemedy *remedy;
} Step;

typedef struct {
    Step *steps;
    size_t count;
} Steps;

static const DwGuideRemedy *remedy_called(const DwGuideKnowledge *knowledge, const char *name)
{
    for (size_t i = 0; i < knowledge->remedy_count; i++)
        if (strcmp(knowledge->remedies[i].name, name) == 0)
            return &knowledge->remedies[i];
    return NULL;
}

// In the guide's order; what the guide does not know comes last, in the order of its lines.
static bool comes_before(const Step *a, const Step *b)
{
    if (!a->remedy || !b->remedy)
        return a->remedy && !b->remedy;
    return a->remedy->order != b->remedy->order ? a->remedy->order < b->remedy->order
                                                : strcmp(a->remedy->opens, b->remedy->opens) < 0;
}

static void add_step(Steps *steps, Step step)
{
    steps->steps = dw_memory_resize(steps->steps, steps->count + 1, sizeof *steps->steps);
    size_t place = steps->count++;
    for (; place > 0 && comes_before(&step, &steps->steps[place - 1]); place--)
        steps->steps[place] = steps->steps[place - 1];
    steps->steps[place] = step;
}

static void add_agreed(const DwGuideKnowledge *knowledge, const DwRecords *lines, DwTier tier, Steps *steps)
{
    for (size_t i = 0; i < lines->count; i++) {
        const DwBillLine *line = (const DwBillLine *)dw_records_at(lines, i);
        if (line->kind == DW_LINE_LABOUR && line->tier <= (int)tier)
            add_step(steps, (Step){line->name, line->minutes, line->record.id, remedy_called(knowledge, line->name)});
    }
}

static void add_works(const DwGuideKnowledge *knowledge, const DwGuideWorks *works, Steps *steps)
{
    for (size_t i = 0; i < works->count; i++) {
        const DwGuideRemedy *remedy = &knowledge->remedies[works->works[i].remedy];
        double middle = (works->works[i].least + works->works[i].most) / 2;
        add_step(steps, (Step){remedy->name, isfinite(middle) ? (int64_t)ceil(middle) : 0, 0, remedy});
    }
}

static void add_care(DwText *care, const char *words, const char *text)
{
    if (text && *text)
        dw_text_add(care, "%s%s%s", care->length ? "\n" : "", words, text);
}

// What the guide says of the work, a line each, and what is done TOGETHER with it. The caller frees it with free().
static char *care_of(const DwGuideRemedy *remedy, const char *together)
{
    DwText care = {0};
    dw_text_add(&care, "%s", "");
    if (remedy) {
        add_care(&care, "Caution: ", remedy->caution);
        add_care(&care, "Tools: ", remedy->tools);
        for (size_t i = 0; i < remedy->torque.count; i++)
            add_care(&care, "How tight: ", remedy->torque.texts[i]);
        for (size_t i = 0; i < remedy->never.count; i++)
            add_care(&care, "", remedy->never.texts[i]);
        for (size_t i = 0; i < remedy->lubricant.count; i++)
            add_care(&care, "Oil or grease: ", remedy->lubricant.texts[i]);
        add_care(&care, "Parts: ", remedy->parts);
        add_care(&care, "Once it is open, together with: ", together);
    }
    return dw_text_take(&care);
}

// The operation that is called NAME, else one that nobody planned and that names the same work in its own words.
static DwOperation *standing(const DwRecords *operations, const char *name)
{
    DwOperation *like = NULL;
    for (size_t i = 0; i < operations->count; i++) {
        DwOperation *operation = (DwOperation *)dw_records_at(operations, i);
        if (strcmp(operation->name, name) == 0)
            return operation;
        if (!like && !operation->place && dw_unbilled_names_it(name, operation->name))
            like = operation;
    }
    return like;
}

// One that stands takes the line by which it was agreed, and a place where it has none.
static DwStatus take_up(DwBook *book, DwOperation *operation, const Step *step, int64_t place, DwMessage *message)
{
    if (operation->place && operation->estimate_line_id == step->line)
        return DW_OK;
    operation->place = operation->place ? operation->place : place;
    operation->estimate_line_id = step->line ? step->line : operation->estimate_line_id;
    return dw_operation_keep_plan(book, operation, message);
}

// What is behind the same opening as step PLACE, by names; "" for nothing. The caller frees it.
static char *together_with(const Steps *steps, size_t place)
{
    const DwGuideRemedy *own = steps->steps[place].remedy;
    DwText names = {0};
    for (size_t i = 0; own && strcmp(own->opens, "nothing") != 0 && i < steps->count; i++)
        if (i != place && steps->steps[i].remedy && strcmp(steps->steps[i].remedy->opens, own->opens) == 0)
            dw_text_add(&names, "%s%s", names.length ? "; " : "", steps->steps[i].name);
    dw_text_add(&names, "%s", "");
    return dw_text_take(&names);
}

static DwStatus add_operation(DwBook *book, int64_t job, const Steps *steps, size_t index, int64_t place,
                              DwMessage *message)
{
    const Step *step = &steps->steps[index];
    char *together = together_with(steps, index);
    DwOperation operation;
    dw_record_init(&operation.record, &dw_operation_entity);
    operation.job_id = job;
    operation.name = dw_memory_text(step->name);
    operation.quoted_minutes = step->minutes;
    operation.estimate_line_id = step->line;
    operation.place = place;
    operation.care = care_of(step->remedy, together);
    free(together);
    DwStatus status = dw_operation_keep_plan(book, &operation, message);
    dw_record_clear(&operation.record);
    return status;
}

static DwStatus put_on_bench(DwBook *book, int64_t job, const Steps *steps, size_t *added, DwMessage *message)
{
    DwRecords operations;
    int64_t place = 0;
    DwStatus status = dw_record_list(book, &dw_operation_entity, "job_id", job, &operations, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < operations.count; i++) {
        int64_t taken = ((const DwOperation *)dw_records_at(&operations, i))->place;
        place = taken > place ? taken : place;
    }
    for (size_t i = 0; status == DW_OK && i < steps->count; i++) {
        DwOperation *stands = standing(&operations, steps->steps[i].name);
        place += !stands || !stands->place;
        *added += !stands;
        status = stands ? take_up(book, stands, &steps->steps[i], place, message)
                        : add_operation(book, job, steps, i, place, message);
    }
    dw_records_clear(&operations);
    return status;
}

// The steps live as long as LINES and KNOWLEDGE.
static DwStatus read_steps(DwBook *book, const DwJob *job, const DwGuideKnowledge *knowledge, const DwGuideWorks *works,
                           DwRecords *lines, Steps *steps, DwMessage *message)
{
    int64_t estimate = 0;
    DwTier tier = DW_TIER_MINIMUM;
    DwStatus status = dw_consent_option(book, job->record.id, &estimate, &tier, message);
    if (status == DW_OK && estimate) {
        status = dw_record_list(book, &dw_estimate_line_entity, "estimate_id", estimate, lines, message);
        add_agreed(knowledge, lines, tier, steps);
    } else if (status == DW_OK)
        add_works(knowledge, works, steps);
    return status == DW_OK && !steps->count
               ? dw_fail(message, DW_BAD_INPUT,
                         "There is no work to plan: no labour stands agreed to, and the guide has found no cause. "
                         "Answer its questions, or add the operations by hand.")
               : status;
}

static DwStatus plan(DwBook *book, const DwJob *job, const DwGuideKnowledge *knowledge, const DwGuideWorks *works,
                     size_t *added, DwMessage *message)
{
    Steps steps = {0};
    DwRecords lines = {.entity = &dw_estimate_line_entity};
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    status = read_steps(book, job, knowledge, works, &lines, &steps, message);
    if (status == DW_OK)
        status = put_on_bench(book, job->record.id, &steps, added, message);
    free(steps.steps);
    dw_records_clear(&lines);
    return dw_book_end(book, status, message);
}

DwStatus dw_job_guide_plan(DwBook *book, const DwJob *job, size_t *added, DwMessage *message)
{
    const DwGuideKnowledge *knowledge;
    DwGuideCase guide_case;
    DwGuideReasons reasons;
    DwGuideWorks works;
    *added = 0;
    DwStatus status = dw_job_guide_knowledge(&knowledge, message);
    if (status == DW_OK) {
        dw_guide_case_init(&guide_case, knowledge);
        status = dw_job_guide_take(book, job, &guide_case, message);
        dw_guide_reason(&guide_case, &reasons);
        dw_guide_work(&guide_case, &reasons, &works);
        if (status == DW_OK)
            status = dw_job_guide_minutes(&guide_case, &works, message);
        if (status == DW_OK)
            status = plan(book, job, knowledge, &works, added, message);
        free(works.works);
        dw_guide_reasons_clear(&reasons);
        dw_guide_case_clear(&guide_case);
    }
    dw_job_guide_done(knowledge);
    return status;
}
