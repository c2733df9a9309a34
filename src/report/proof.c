// SPDX-License-Identifier: MIT
// The proof of the service report: every reading, setting, chart and photograph that it rests on.
#include "base/memory.h"
#include "base/text.h"
#include "report/papers.h"
#include "report/standing.h"

#include <stdlib.h>
#include <string.h>

// What the bench calls it is called in the paper's language where that has a word for it.
static void name(const DwDossier *d, char **label)
{
    char *said = dw_memory_text(dw_standing_label(d, *label));
    free(*label);
    *label = said;
}

// "platter or record", what a line of a spectrum may come from, part by part.
static void name_parts(const DwDossier *d, char **words)
{
    static const char between[] = " or ";
    DwText said = {0};
    for (const char *at = *words, *end; at; at = end ? end + strlen(between) : NULL) {
        end = strstr(at, between);
        char *key = dw_text_format("part.%.*s", end ? (int)(end - at) : (int)strlen(at), at);
        const char *part = dw_dossier_say(d, "charts", key);
        if (said.length)
            dw_text_add(&said, " %s ", dw_dossier_say(d, "charts", "part.or"));
        dw_text_add(&said, "%s", *part ? part : key + strlen("part."));
        free(key);
    }
    free(*words);
    *words = dw_text_take(&said);
}

static void name_lines(const DwDossier *d, DwTable *table)
{
    for (size_t i = 0; i < table->row_count * table->column_count; i++)
        if (strcmp(table->columns[i % table->column_count].key, "part") == 0 && table->cells[i].word)
            name_parts(d, &table->cells[i].word);
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
    for (size_t i = 0; i < sheet->table_count; i++)
        name_lines(d, &sheet->tables[i]);
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
        dw_service_add_path_whole(d);
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
