// SPDX-License-Identifier: MIT
// The proof of the service report: every reading, setting, chart and photograph that it rests on.
#include "report/papers.h"

DwStatus dw_paper_proof(DwDossier *d, DwMessage *message)
{
    DwStatus status = dw_comparison_make(d->book, d->job.record.id, &d->comparison, message);
    if (status == DW_OK) {
        dw_dossier_add_brief_head(d, dw_dossier_say(d, "proof", "title"));
        status = dw_dossier_add_unsafe(d, message);
    }
    if (status == DW_OK)
        status = dw_service_add_findings(d, message);
    if (status == DW_OK)
        dw_service_add_measurements(d);
    if (status == DW_OK)
        status = dw_service_add_setup(d, message);
    if (status == DW_OK)
        dw_service_add_charts(d);
    if (status == DW_OK)
        dw_service_add_takes(d);
    if (status == DW_OK)
        status = dw_service_add_work(d, message);
    if (status == DW_OK)
        status = dw_service_add_photos(d, message);
    if (status == DW_OK) {
        dw_dossier_add_cautions(d, DW_CAUTIONS_OF_WORK, "");
        dw_service_add_limits(d);
    }
    return status;
}
