// SPDX-License-Identifier: MIT
#include "web/measure/sheet_source.h"

#include "base/memory.h"
#include "base/text.h"
#include "web/server/route.h"
#include "web/server/words.h"

#include <stdlib.h>
#include <string.h>

static bool open_result(const DwWebRequest *request, DwSheetSource *source, const char *key, DwAnswer *refusal)
{
    source->result = dw_results_take(request->site->results, request->token, key);
    if (!source->result) {
        *refusal =
            dw_answer_refusal(404, _("This sheet is gone: it was not kept, and the bench was started again or has "
                                     "measured much since. Measure again."));
        return false;
    }
    source->sheet = source->result->sheet;
    source->place = dw_text_format("/result/%s", key);
    return true;
}

static DwStatus load(const DwWebRequest *request, int64_t id, DwMeasurement *measurement, DwSheet **sheet,
                     DwMessage *message)
{
    DwStatus status = dw_record_load(request->book, &measurement->record, id, message);
    return status == DW_OK ? dw_measurement_sheet(measurement, sheet, message) : status;
}

// Only the same procedure of the same job, received against what came after, is a pair.
static bool is_pair(const DwMeasurement *before, const DwMeasurement *after)
{
    return before->job_id == after->job_id && strcmp(before->procedure, after->procedure) == 0 &&
           before->phase == DW_PHASE_AS_RECEIVED && after->phase != DW_PHASE_AS_RECEIVED;
}

static bool open_kept(const DwWebRequest *request, DwSheetSource *source, DwAnswer *refusal)
{
    DwMessage message;
    int64_t with = dw_request_id(request, "with");
    DwStatus status = load(request, dw_request_id(request, "id"), &source->measurement, &source->kept, &message);
    if (status == DW_OK && with)
        status = load(request, with, &source->before_from, &source->before, &message);
    if (status == DW_OK && with && !is_pair(&source->before_from, &source->measurement))
        status =
            dw_fail(&message, DW_BAD_INPUT, "%s",
                    _("Only what was measured as received can be compared with what came after it on the same job."));
    if (status != DW_OK) {
        *refusal = dw_answer_refusal(status == DW_BAD_INPUT ? 404 : 500, dw_message_said(&message));
        return false;
    }
    source->sheet = source->kept;
    source->place = dw_text_format("/sheet/%lld", (long long)source->measurement.record.id);
    if (with)
        source->query = dw_text_format("with=%lld", (long long)with);
    return true;
}

bool dw_sheet_source_open(const DwWebRequest *request, DwSheetSource *source, DwAnswer *refusal)
{
    *source = (DwSheetSource){0};
    dw_record_init(&source->measurement.record, &dw_measurement_entity);
    dw_record_init(&source->before_from.record, &dw_measurement_entity);
    const char *key = dw_request_path(request, "key");
    bool opened = *key ? open_result(request, source, key, refusal) : open_kept(request, source, refusal);
    if (!opened)
        dw_sheet_source_clear(request, source);
    else if (!source->query)
        source->query = dw_memory_text("");
    return opened;
}

void dw_sheet_source_clear(const DwWebRequest *request, DwSheetSource *source)
{
    dw_results_give_back(request->site->results, source->result);
    dw_record_clear(&source->measurement.record);
    dw_record_clear(&source->before_from.record);
    dw_sheet_free(source->kept);
    dw_sheet_free(source->before);
    free(source->place);
    free(source->query);
    *source = (DwSheetSource){0};
}

DwSheetView dw_sheet_source_view(const DwSheetSource *source)
{
    bool kept = source->kept != NULL;
    return (DwSheetView){.sheet = source->sheet,
                         .before = source->before,
                         .from = kept ? &source->measurement : NULL,
                         .before_from = source->before ? &source->before_from : NULL,
                         .place = source->place,
                         .query = source->query};
}
