// SPDX-License-Identifier: MIT
// The proof of the service report: every reading, setting, chart and photograph that it rests on.
#include "base/memory.h"
#include "report/papers.h"
#include "report/standing.h"

#include <stdlib.h>

// What the bench calls it is called in the paper's language where that has a word for it.
static void name(const DwDossier *d, char **label)
{
    char *said = dw_memory_text(dw_standing_label(d, *label));
    free(*label);
    *label = said;
}

// Titles and charts of the sheets as the paper's language has them; their readings are named by their keys.
static void name_sheet(const DwDossier *d, DwSheet *sheet)
{
    name(d, &sheet->title);
    for (size_t i = 0; i < sheet->curve_count; i++) {
        DwCurve *curve = &sheet->curves[i];
        char **const labels[] = {&curve->label, &curve->x.label, &curve->y.label};
        for (size_t k = 0; k < sizeof labels / sizeof *labels; k++)
            name(d, labels[k]);
    }
    for (size_t i = 0; i < sheet->raster_count; i++) {
        DwRaster *raster = &sheet->rasters[i];
        char **const labels[] = {&raster->label, &raster->across.label, &raster->down.label};
        for (size_t k = 0; k < sizeof labels / sizeof *labels; k++)
            name(d, labels[k]);
    }
}

DwStatus dw_paper_proof(DwDossier *d, DwMessage *message)
{
    DwStatus status = dw_comparison_make(d->book, d->job.record.id, &d->comparison, message);
    for (size_t i = 0; status == DW_OK && i < d->comparison.measurements.count; i++)
        if (d->comparison.sheets[i])
            name_sheet(d, d->comparison.sheets[i]);
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
