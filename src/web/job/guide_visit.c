// SPDX-License-Identifier: MIT
#include "web/job/guide_visit.h"

#include "base/memory.h"
#include "base/text.h"
#include "guide/guide_words.h"
#include "guide/guide_sheet.h"
#include "procedure/job/job_guide.h"
#include "procedure/job/job_sheet.h"
#include "web/job/job_head.h"
#include "web/server/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SAID_MOST = 4000 };

// Takes the answers that stand in the address, parted by semicolons.
static DwStatus take_said(DwGuideVisit *visit, DwMessage *message)
{
    DwStatus status = DW_OK;
    if (strlen(visit->said) > SAID_MOST)
        return dw_fail(message, DW_BAD_INPUT, "These are more answers than there are questions.");
    size_t key = strlen(dw_guide_unheard_key);
    for (const char *at = visit->said; status == DW_OK && *at;) {
        size_t length = strcspn(at, ";");
        char *operand = dw_text_format("%.*s", (int)length, at);
        bool unheard = strncmp(operand, dw_guide_unheard_key, key) == 0 && operand[key] == '=';
        if (unheard)
            dw_guide_case_keep_unheard(&visit->guide_case, operand + key + 1);
        else if (length)
            status = dw_guide_case_set(&visit->guide_case, operand, message);
        size_t end = strlen(operand);
        bool brought = strncmp(operand, "symptom.", 8) == 0 && end > 4 && strcmp(operand + end - 4, "=yes") == 0;
        visit->asked += length && !brought && !unheard;
        free(operand);
        at += length + (at[length] == ';');
    }
    return status;
}

// What the owner said first, in his own words.
static DwStatus take_owner_words(DwGuideVisit *visit, DwMessage *message)
{
    const char *words = dw_request_query(visit->request, "words");
    return *words ? dw_guide_case_say(&visit->guide_case, words, message) : DW_OK;
}

char *dw_guide_visit_said(const DwGuideVisit *visit)
{
    const DwGuideCase *guide_case = &visit->guide_case;
    DwText text = {0};
    for (unsigned turn = 1; turn <= guide_case->turns; turn++) {
        if (guide_case->drive_turn == turn)
            dw_text_add(&text, "drive.kind=%s;", dw_guide_drive_word(guide_case));
        for (size_t i = 0; i < visit->knowledge->sign_count; i++) {
            if (guide_case->evidence[i].turn != turn)
                continue;
            char *name = dw_guide_sign_name(&visit->knowledge->signs[i]), *word = dw_guide_case_word(guide_case, i);
            dw_text_add(&text, "%s=%s;", name, word);
            free(name);
            free(word);
        }
    }
    if (guide_case->unheard)
        dw_text_add(&text, "%s=%s;", dw_guide_unheard_key, guide_case->unheard);
    dw_text_add(&text, "%s", "");
    return dw_text_take(&text);
}

DwStatus dw_guide_visit_weigh(DwGuideVisit *visit, DwMessage *message)
{
    dw_guide_reasons_clear(&visit->reasons);
    free(visit->works.works);
    visit->works = (DwGuideWorks){0};
    dw_guide_reason(&visit->guide_case, &visit->reasons);
    dw_guide_work(&visit->guide_case, &visit->reasons, &visit->works);
    return dw_job_guide_minutes(&visit->guide_case, &visit->works, message);
}

bool dw_guide_visit_open(const DwWebRequest *request, DwGuideVisit *visit, DwAnswer *refusal)
{
    DwMessage message;
    *visit = (DwGuideVisit){.request = request, .said = ""};
    dw_record_init(&visit->job.record, &dw_job_entity);
    bool of_job = *dw_request_path(request, "number");
    if (of_job && !dw_job_head_find(request, &visit->job, refusal))
        return false;
    visit->path = of_job ? dw_text_format("/job/%04lld/guide", (long long)visit->job.number) : dw_memory_text("/guide");
    DwStatus status = dw_job_guide_knowledge(&visit->knowledge, &message);
    if (status == DW_OK) {
        dw_guide_case_init(&visit->guide_case, visit->knowledge);
        visit->said = of_job ? "" : dw_request_query(request, "said");
        status = of_job ? dw_job_guide_take(request->book, &visit->job, &visit->guide_case, &message)
                        : take_said(visit, &message);
    }
    if (status == DW_OK && !of_job)
        status = take_owner_words(visit, &message);
    if (status == DW_OK)
        status = dw_guide_visit_weigh(visit, &message);
    if (status == DW_BAD_INPUT)
        *refusal = dw_answer_refusal_at(visit->path, 400, dw_message_said(&message));
    else if (status != DW_OK)
        *refusal = dw_answer_trouble(status, &message);
    return status == DW_OK;
}

void dw_guide_visit_close(DwGuideVisit *visit)
{
    dw_guide_reasons_clear(&visit->reasons);
    free(visit->works.works);
    if (visit->guide_case.knowledge)
        dw_guide_case_clear(&visit->guide_case);
    dw_job_guide_done(visit->knowledge);
    dw_record_clear(&visit->job.record);
    free(visit->path);
    *visit = (DwGuideVisit){0};
}

DwStatus dw_guide_visit_keep(DwGuideVisit *visit, DwMessage *message)
{
    char number[24];
    int64_t id;
    DwStatus status = dw_guide_visit_weigh(visit, message);
    if (status != DW_OK)
        return status;
    snprintf(number, sizeof number, "%lld", (long long)visit->job.number);
    DwSheet *sheet = dw_guide_sheet(&visit->guide_case, &visit->reasons, &visit->works);
    status = dw_job_guide_parts(visit->request->book, &visit->job, visit->knowledge, &visit->works, sheet, message);
    if (status == DW_OK)
        status = dw_job_sheet_keep(visit->request->book, number, DW_PHASE_DURING, sheet, &id, message);
    dw_sheet_free(sheet);
    return status;
}

// Whether STEP asks of anything that may be asked on this page.
static bool may_ask(const DwGuideVisit *visit, const DwGuideStep *step)
{
    return visit->job.record.id || step->test < 0;
}

const DwGuideStep *dw_guide_visit_step(const DwGuideVisit *visit)
{
    const DwGuideReasons *reasons = &visit->reasons;
    const char *begun = dw_request_query(visit->request, "test");
    const DwGuideStep *best = NULL;
    if (!visit->job.record.id && visit->asked >= DW_GUIDE_CALL_QUESTIONS)
        return NULL;
    bool safety = reasons->step_count && reasons->steps[0].safety;
    for (size_t i = 0; i < reasons->step_count; i++) {
        const DwGuideStep *step = &reasons->steps[i];
        if (!may_ask(visit, step))
            continue;
        if (!best)
            best = step;
        if (!safety && step->test >= 0 && strcmp(visit->knowledge->tests[step->test].key, begun) == 0)
            return step;
    }
    bool over = reasons->standing == DW_GUIDE_CLEAR || reasons->standing == DW_GUIDE_CANNOT_TELL;
    return over && visit->job.record.id ? NULL : best;
}

int dw_guide_visit_sign(const DwGuideVisit *visit, const DwGuideStep *step)
{
    for (size_t i = 0; !step->drive && i < visit->knowledge->sign_count; i++)
        if (dw_guide_step_asks(&visit->guide_case, step, i))
            return (int)i;
    return -1;
}
