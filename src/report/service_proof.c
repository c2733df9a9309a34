// SPDX-License-Identifier: MIT
// On the proof: findings, verdicts, every reading, set-up, charts.
#include "base/arm_key.h"
#include "base/memory.h"
#include "base/quantity.h"
#include "base/text.h"
#include "book/job/finding.h"
#include "book/job/verdict.h"
#include "book/job/set_up.h"
#include "chart/draw/number.h"
#include "chart/draw/raster.h"
#include "chart/sheet/sheet_plots.h"
#include "chart/sheet/sheet_words.h"
#include "report/papers.h"
#include "report/sentence/sentence.h"
#include "report/standing.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *say(const DwDossier *d, const char *key)
{
    return dw_dossier_say(d, "service", key);
}

static void add_row(const DwDossier *d, DwPaperTable *table, const DwRecord *record, const char *const *keys)
{
    char *texts[6];
    DwPaperCell cells[6] = {{0}};
    for (size_t i = 0; i < table->count; i++) {
        texts[i] = dw_dossier_field(d, record, keys[i]);
        cells[i].text = texts[i];
        if (table->columns[i].kind == DW_CELL_VERDICT)
            cells[i].verdict = (DwVerdict)((const DwItemVerdict *)record)->grade;
    }
    dw_piece_table_row(table, cells);
    for (size_t i = 0; i < table->count; i++)
        free(texts[i]);
}

static void add_verdicts(DwDossier *d)
{
    static const DwPaperColumn columns[] = {{"item", 0.22, DW_CELL_LEFT},
                                            {"grade", 0.2, DW_CELL_VERDICT},
                                            {"evidence", 0.34, DW_CELL_LEFT},
                                            {"todo", 0.24, DW_CELL_LEFT}};
    static const char *const keys[] = {"item", "grade", "evidence", "action"};
    if (!d->verdicts.count)
        return;
    dw_piece_heading(d->flow, say(d, "verdicts"));
    DwPaperTable table = dw_dossier_table(d, "service", columns, 4);
    for (size_t i = 0; i < d->verdicts.count; i++)
        add_row(d, &table, dw_records_at(&d->verdicts, i), keys);
}

// What the paper is for, or that there is nothing yet.
static void add_standing(DwDossier *d)
{
    static const char *const keys[] = {"proof.text", "proof.none", "proof.unknown"};
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        char *text = dw_sentence(d, "service", keys[i], NULL, "number", d->number, NULL);
        dw_piece_paragraph(d->flow, text);
        free(text);
    }
}

DwStatus dw_service_add_findings(DwDossier *d, DwMessage *message)
{
    static const DwPaperColumn columns[] = {{"symptom", 0.24, DW_CELL_LEFT},
                                            {"confirmed", 0.14, DW_CELL_LEFT},
                                            {"cause", 0.22, DW_CELL_LEFT},
                                            {"action", 0.2, DW_CELL_LEFT},
                                            {"after", 0.2, DW_CELL_LEFT}};
    static const char *const keys[] = {"symptom", "confirmed", "cause", "action", "after"};
    DwRecords findings;
    DwStatus status = dw_dossier_records(d, &dw_finding_entity, &findings, message);
    if (status != DW_OK)
        return status;
    add_standing(d);
    if (d->intake.words && *d->intake.words)
        dw_dossier_add_section(d, "receipt", "words", d->intake.words);
    if (findings.count) {
        dw_piece_heading(d->flow, say(d, "findings"));
        DwPaperTable table = dw_dossier_table(d, "service", columns, 5);
        for (size_t i = 0; i < findings.count; i++)
            add_row(d, &table, dw_records_at(&findings, i), keys);
    }
    dw_records_clear(&findings);
    add_verdicts(d);
    return DW_OK;
}

static char *set_up_value(const DwSetUp *set_up)
{
    const char *unit = set_up->unit ? set_up->unit : "";
    char *value = dw_dossier_number(set_up->value);
    char *text = dw_text_format("%s%s%s", value, *unit ? dw_number_space(unit) : "", dw_number_unit(unit));
    free(value);
    return text;
}

static void add_set_up(const DwDossier *d, DwPaperTable *table, const DwSetUp *before, const DwSetUp *after)
{
    const DwSetUp *shown = after ? after : before;
    const char *instrument = shown->instrument ? shown->instrument : "", *remark = shown->remark ? shown->remark : "";
    char *name = dw_standing_name(d, shown->key, shown->label);
    char *was = before ? set_up_value(before) : dw_memory_text("–");
    char *is = after ? set_up_value(after) : dw_memory_text("–");
    char *how = dw_text_format("%s%s%s%s%s", instrument, *instrument && shown->method && *shown->method ? ", " : "",
                               shown->method ? shown->method : "",
                               *remark && (*instrument || (shown->method && *shown->method)) ? "; " : "", remark);
    dw_piece_table_row(table, (DwPaperCell[]){{.text = name}, {.text = was}, {.text = is}, {.text = how}});
    free(name);
    free(was);
    free(is);
    free(how);
}

// The settings as they were found and as they were left, with how each was taken.
static void add_set_ups(DwDossier *d, const DwRecords *found, const DwRecords *left)
{
    static const DwPaperColumn columns[] = {{"quantity", 0.3, DW_CELL_LEFT},
                                            {"column.received", 0.17, DW_CELL_LEFT},
                                            {"column.left", 0.17, DW_CELL_LEFT},
                                            {"taken_how", 0.36, DW_CELL_LEFT}};
    DwPaperTable table = dw_dossier_table(d, "service", columns, 4);
    for (size_t i = 0; i < left->count; i++) {
        const DwSetUp *after = (const DwSetUp *)dw_records_at(left, i);
        add_set_up(d, &table, dw_set_up_find(found, after->key), after);
    }
    for (size_t i = 0; i < found->count; i++) {
        const DwSetUp *before = (const DwSetUp *)dw_records_at(found, i);
        if (!dw_set_up_find(left, before->key))
            add_set_up(d, &table, before, NULL);
    }
}

// "23.6 deg" as it is printed, "23.6°"; other text as it was typed.
static char *typed_value(const char *typed)
{
    const char *gap = strrchr(typed, ' ');
    const DwUnit *unit = gap ? dw_unit_any(gap + 1) : NULL;
    char *number = dw_text_format("%.*s", (int)(gap ? gap - typed : 0), typed), *shown = dw_dossier_number(number);
    char *text = unit ? dw_text_format("%s%s%s", shown, dw_number_space(unit->name), dw_number_unit(unit->name))
                      : dw_memory_text(typed);
    free(number);
    free(shown);
    return text;
}

static bool is_other(const DwDeckValue *value, const DwRecords *found, const DwRecords *left)
{
    return !dw_set_up_find(found, value->key) && !dw_set_up_find(left, value->key);
}

// What KEY is called, and whose arm it is of; the caller frees it.
static char *value_name(const DwDossier *d, const char *key)
{
    const DwQuantity *quantity = dw_arm_key_quantity(key);
    char *plain = dw_arm_key_plain(key);
    char *name = quantity ? dw_arm_key_label(dw_standing_proof_name(d, plain, quantity->label), dw_arm_key_name(key))
                          : dw_memory_text(key);
    free(plain);
    return name;
}

// What is noted of the deck itself and was no setting of this job.
static void add_deck_values(DwDossier *d, const DwRecords *values, const DwRecords *found, const DwRecords *left)
{
    size_t others = 0;
    for (size_t i = 0; i < values->count; i++)
        others += is_other((const DwDeckValue *)dw_records_at(values, i), found, left);
    if (!others)
        return;
    if (found->count + left->count)
        dw_piece_heading(d->flow, say(d, "known"));
    static const DwPaperColumn columns[] = {{"quantity", 0.6, DW_CELL_LEFT}, {"setting", 0.4, DW_CELL_LEFT}};
    DwPaperTable table = dw_dossier_table(d, "service", columns, 2);
    for (size_t i = 0; i < values->count; i++) {
        const DwDeckValue *value = (const DwDeckValue *)dw_records_at(values, i);
        if (!is_other(value, found, left))
            continue;
        char *name = value_name(d, value->key), *shown = typed_value(value->value);
        dw_piece_table_row(&table, (DwPaperCell[]){{.text = name}, {.text = shown}});
        free(name);
        free(shown);
    }
}

DwStatus dw_service_add_setup(DwDossier *d, DwMessage *message)
{
    int64_t job = d->job.record.id, deck = d->deck.record.id;
    DwRecords found = {0}, left = {0}, values = {0};
    DwStatus status = dw_set_up_standing(d->book, job, DW_PHASE_AS_RECEIVED, &found, message);
    if (status == DW_OK)
        status = dw_set_up_standing(d->book, job, DW_PHASE_AS_LEFT, &left, message);
    if (status == DW_OK && deck)
        status = dw_record_list(d->book, &dw_deck_value_entity, "deck_id", deck, &values, message);
    if (status == DW_OK && found.count + left.count + values.count > 0) {
        dw_dossier_add_fixed(d, "service", "setup", NULL);
        if (found.count + left.count)
            add_set_ups(d, &found, &left);
        if (values.count)
            add_deck_values(d, &values, &found, &left);
    }
    dw_records_clear(&found);
    dw_records_clear(&left);
    dw_records_clear(&values);
    return status;
}

// The sheet of the measurement at INDEX, NULL when it was taken during the work.
static const DwSheet *sheet_at(const DwDossier *d, size_t index)
{
    return d->comparison.sheets[index];
}

static const DwMeasurement *measurement_at(const DwDossier *d, size_t index)
{
    return (const DwMeasurement *)dw_records_at(&d->comparison.measurements, index);
}

static bool goes_with(const DwMeasurement *a, const DwMeasurement *b)
{
    return strcmp(a->procedure, b->procedure) == 0 && strcmp(a->speed, b->speed) == 0 &&
           strcmp(a->test_record, b->test_record) == 0 && strcmp(a->chain, b->chain) == 0;
}

// The other sheet that belongs on the same axes as the one at INDEX, in PHASE: the
// first as received or the last as left. NULL without one.
static const DwSheet *partner(const DwDossier *d, size_t index, DwPhase phase)
{
    const DwSheet *found = NULL;
    for (size_t i = 0; i < d->comparison.measurements.count; i++) {
        bool fits = sheet_at(d, i) && (DwPhase)measurement_at(d, i)->phase == phase &&
                    goes_with(measurement_at(d, i), measurement_at(d, index));
        if (fits && (!found || phase == DW_PHASE_AS_LEFT))
            found = sheet_at(d, i);
    }
    return found;
}

static void add_chart(DwDossier *d, const DwSheet *sheet, const DwSheet *before)
{
    size_t count;
    DwPlot *plots = dw_sheet_plots_new_in(&d->chart_words, sheet, before, &count);
    d->charts = dw_memory_resize(d->charts, d->chart_count + 1, sizeof *d->charts);
    d->charts[d->chart_count].plots = plots;
    d->charts[d->chart_count++].count = count;
    for (size_t i = 0; i < count; i++)
        dw_piece_plot(d->flow, &plots[i]);
}

// As received above as left, in one scale of colours: the larger of both.
static void add_raster(DwDossier *d, const DwRaster *raster, const DwRaster *earlier)
{
    double end = dw_raster_scale_end(raster);
    if (earlier)
        end = fmax(end, dw_raster_scale_end(earlier));
    const DwRaster *const both[] = {earlier, raster};
    for (size_t i = 0; i < 2; i++) {
        if (!both[i] || !both[i]->rows || !both[i]->columns)
            continue;
        char *title = dw_sheet_words_raster_title(&d->chart_words, both[i], earlier != NULL, i == 0);
        char *caption = dw_sheet_words_raster_caption(&d->chart_words, both[i], end);
        dw_piece_raster(d->flow, both[i], end, title, caption);
        free(title);
        free(caption);
    }
}

// The later sheet of each pair, which both are drawn with; the earlier one into *BEFORE, NULL without one.
static const DwSheet *drawn_at(const DwDossier *d, size_t index, const DwSheet **before)
{
    const DwSheet *sheet = sheet_at(d, index);
    const DwSheet *last = sheet ? partner(d, index, DW_PHASE_AS_LEFT) : NULL;
    const DwSheet *first = sheet ? partner(d, index, DW_PHASE_AS_RECEIVED) : NULL;
    *before = last && first != last ? first : NULL;
    bool drawn = sheet && (sheet->curve_count || sheet->raster_count) && sheet == (last ? last : first);
    return drawn ? sheet : NULL;
}

static DwDrawn count_charts(const DwDossier *d)
{
    DwDrawn drawn = {0};
    for (size_t i = 0; i < d->comparison.measurements.count; i++) {
        const DwSheet *before, *sheet = drawn_at(d, i, &before);
        bool both = false;
        for (size_t c = 0; sheet && before && c < sheet->curve_count; c++)
            both = both || dw_sheet_curve(before, sheet->curves[c].key);
        drawn.drawn += sheet != NULL;
        drawn.with_both += both;
    }
    return drawn;
}

void dw_service_add_charts(DwDossier *d)
{
    DwDrawn drawn = count_charts(d);
    if (!drawn.drawn)
        return;
    dw_dossier_add_fixed(d, "service", "charts", &drawn);
    for (size_t i = 0; i < d->comparison.measurements.count; i++) {
        const DwSheet *before, *sheet = drawn_at(d, i, &before);
        if (!sheet)
            continue;
        for (size_t r = 0; r < sheet->raster_count; r++)
            add_raster(d, &sheet->rasters[r], before ? dw_sheet_raster(before, sheet->rasters[r].key) : NULL);
        add_chart(d, sheet, before);
    }
}

// What the table TAKE of a live sheet says of WHAT, with its unit; "" for nothing. The caller frees it.
static char *take_fact(const DwTable *take, const char *what)
{
    for (size_t row = 0; row < take->row_count; row++) {
        const char *name = dw_table_cell(take, row, 0)->word, *value = dw_table_cell(take, row, 1)->word;
        const char *unit = dw_table_cell(take, row, 2)->word;
        if (name && value && strcmp(name, what) == 0)
            return dw_text_format("%s%s%s", value, unit && *unit ? dw_number_space(unit) : "",
                                  unit ? dw_number_unit(unit) : "");
    }
    return dw_memory_text("");
}

static void add_take(const DwDossier *d, DwPaperTable *paper, const DwSheet *sheet, DwPhase phase, const DwTable *take)
{
    char *rate = take_fact(take, "Rate"), *to = take_fact(take, "Resampled to"), *device = take_fact(take, "Input");
    char *bits = take_fact(take, "Samples"), *lost = take_fact(take, "Sound lost");
    char *clock = take_fact(take, "Clock fast by"), *level = take_fact(take, "Level changed by");
    char *name = take_fact(take, "Known to the sound server as"); // two inputs may have one name
    char *input = *name ? dw_text_format("%s (%s)", device, name) : dw_memory_text(device);
    char *measured =
        dw_text_format("%s, %s", sheet->title, say(d, phase == DW_PHASE_AS_LEFT ? "column.left" : "column.received"));
    char *samples = dw_text_format("%s%s%s%s%s", rate, *to ? " → " : "", to, *bits ? ", " : "", bits);
    dw_piece_table_row(paper, (DwPaperCell[]){{.text = measured},
                                              {.text = input},
                                              {.text = samples},
                                              {.text = lost},
                                              {.text = *clock ? clock : "–"},
                                              {.text = level}});
    char *made[] = {rate, to, device, name, input, bits, lost, clock, level, measured, samples};
    for (size_t i = 0; i < sizeof made / sizeof *made; i++)
        free(made[i]);
}

// How the sound of each measurement that was taken live came in.
void dw_service_add_takes(DwDossier *d)
{
    static const DwPaperColumn columns[] = {{"take.sheet", 0.26, DW_CELL_LEFT},   {"take.input", 0.22, DW_CELL_LEFT},
                                            {"take.samples", 0.18, DW_CELL_LEFT}, {"take.lost", 0.1, DW_CELL_LEFT},
                                            {"take.clock", 0.14, DW_CELL_LEFT},   {"take.level", 0.1, DW_CELL_LEFT}};
    DwPaperTable table;
    bool begun = false;
    for (size_t i = 0; i < d->comparison.measurements.count; i++) {
        const DwSheet *sheet = sheet_at(d, i);
        const DwTable *take = sheet ? dw_sheet_table(sheet, "take") : NULL;
        if (!take)
            continue;
        if (!begun) {
            dw_piece_heading(d->flow, say(d, "takes"));
            table = dw_dossier_table(d, "service", columns, 6);
            begun = true;
        }
        add_take(d, &table, sheet, (DwPhase)measurement_at(d, i)->phase, take);
    }
}
