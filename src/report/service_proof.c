// SPDX-License-Identifier: MIT
// Behind the first page: findings, verdicts, every reading, set-up, charts.
#include "base/memory.h"
#include "base/quantity.h"
#include "base/text.h"
#include "book/job/finding.h"
#include "book/shop/register.h"
#include "book/job/verdict.h"
#include "book/job/set_up.h"
#include "chart/draw/number.h"
#include "chart/draw/raster.h"
#include "chart/sheet/sheet_plots.h"
#include "chart/sheet/sheet_words.h"
#include "report/papers.h"

#include <math.h>
#include <stdio.h>
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
    if (findings.count + d->verdicts.count + d->comparison.count)
        dw_dossier_add_section(d, "service", "proof", NULL);
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

// A value in its table's unit, or a word, or why there is none.
static char *value_text(const DwDossier *d, const DwReading *reading)
{
    if (!reading)
        return dw_memory_text("–");
    if (reading->word)
        return dw_memory_text(reading->word);
    if (!isfinite(reading->value))
        return dw_memory_text(say(d, "undefined"));
    bool is_signed = reading->limit && reading->limit->low < 0;
    return dw_memory_text(dw_number_print(reading->value, reading->digits, is_signed).text);
}

static char *limit_text(const DwDossier *d, const DwReading *reading)
{
    const DwLimit *limit = reading->limit;
    if (!limit)
        return dw_memory_text("–");
    bool is_signed = limit->low < 0;
    DwNumber low = dw_number_print(limit->low, reading->digits, is_signed);
    DwNumber high = dw_number_print(limit->high, reading->digits, is_signed);
    const char *key = !isfinite(limit->low) ? "limit.up_to" : isfinite(limit->high) ? "limit.between" : "limit.from";
    return dw_paper_words_fill(d->words, "service", key, "low", low.text, "high", high.text, NULL);
}

// An uncertainty is rounded up: one that would print as nothing is still there.
static char *doubt_text(const DwReading *reading)
{
    double step = pow(10, -reading->digits);
    return isfinite(reading->uncertainty)
               ? dw_memory_text(
                     dw_number_print(ceil(reading->uncertainty / step - 1e-9) * step, reading->digits, false).text)
               : dw_memory_text("–");
}

// The instrument and the day of its check; or the recording chain and the record.
static char *taken_with(const DwDossier *d, const DwMeasurement *from)
{
    DwInstrument instrument;
    DwChain chain;
    DwCheckState state;
    char checked[DW_DATE_SIZE] = "";
    bool by_hand = strcmp(from->procedure, DW_MEASUREMENT_BY_HAND) == 0;
    const char *name = from->instrument && *from->instrument ? from->instrument : from->chain ? from->chain : "";
    dw_record_init(&instrument.record, &dw_instrument_entity);
    dw_record_init(&chain.record, &dw_chain_entity);
    if (*name && name == from->instrument) {
        if (dw_record_find(d->book, &instrument.record, "name", name, NULL) == DW_OK &&
            dw_instrument_state(d->book, instrument.record.id, &state, checked, NULL) != DW_OK)
            checked[0] = '\0';
    } else if (*name && dw_record_find(d->book, &chain.record, "name", name, NULL) == DW_OK && chain.checked_on)
        snprintf(checked, sizeof checked, "%s", chain.checked_on);
    char *text = *name ? dw_paper_words_fill(d->words, "service", *checked ? "with.checked" : "with", "name", name,
                                             "day", checked, NULL)
                       : dw_memory_text(say(d, by_hand ? "with.unsaid" : "with.sums"));
    dw_record_clear(&instrument.record);
    dw_record_clear(&chain.record);
    return text;
}

static void add_pair(DwDossier *d, DwPaperTable *table, const DwPair *pair)
{
    const DwReading *reading = pair->after ? pair->after : pair->before;
    char *before = value_text(d, pair->before), *after = value_text(d, pair->after), *limit = limit_text(d, reading);
    char *doubt = doubt_text(reading);
    const char *unit = dw_number_unit(reading->unit);
    char *name = dw_text_format("%s%s%s", reading->label, *unit ? ", " : "", unit);
    char *with = taken_with(d, pair->after ? pair->after_from : pair->before_from);
    DwPaperCell cells[] = {{.text = name},  {.text = before}, {.text = after},
                           {.text = doubt}, {.text = limit},  {.text = "", .verdict = reading->verdict},
                           {.text = with}};
    dw_piece_table_row(table, cells);
    free(name);
    free(before);
    free(after);
    free(limit);
    free(doubt);
    free(with);
}

static const DwMeasurement *from_of(const DwPair *pair)
{
    return pair->after ? pair->after_from : pair->before_from;
}

static bool same_group(const DwPair *a, const DwPair *b)
{
    const DwMeasurement *one = from_of(a), *other = from_of(b);
    return strcmp(one->procedure, other->procedure) == 0 && strcmp(one->speed, other->speed) == 0 &&
           strcmp(one->instrument, other->instrument) == 0;
}

// "As received 2026-11-02, 10:20, as left …. Record …. Chain …. By …": what the numbers were taken with.
static char *provenance(const DwDossier *d, const DwPair *pair)
{
    const DwMeasurement *from = from_of(pair);
    DwText text = {0};
    const struct {
        const char *key;
        char *value;
    } parts[] = {
        {"taken.before", dw_dossier_time(pair->before_from ? pair->before_from->at : NULL)},
        {"taken.after", dw_dossier_time(pair->after_from ? pair->after_from->at : NULL)},
        {"taken.speed", dw_memory_text(from->speed)},
        {"taken.record", dw_memory_text(from->test_record)},
        {"taken.chain", dw_memory_text(from->chain)},
        {"taken.instrument", dw_memory_text(from->instrument)},
        {"taken.by", dw_memory_text(from->who)},
    };
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        char *part = dw_paper_words_fill(d->words, "service", parts[i].key, "value", parts[i].value, NULL);
        if (*parts[i].value)
            dw_text_add(&text, "%s%s", text.length ? " " : "", part);
        free(part);
        free(parts[i].value);
    }
    return dw_text_take(&text);
}

// The last check of the instrument that a reading by hand was taken with.
static void add_instrument_check(DwDossier *d, const char *name)
{
    DwInstrument instrument;
    DwCheckState state;
    char checked[DW_DATE_SIZE];
    dw_record_init(&instrument.record, &dw_instrument_entity);
    if (*name && dw_record_find(d->book, &instrument.record, "name", name, NULL) == DW_OK &&
        dw_instrument_state(d->book, instrument.record.id, &state, checked, NULL) == DW_OK && *checked) {
        static const char *const keys[] = {[DW_CHECK_NOT_NEEDED] = "check.valid",
                                           [DW_CHECK_NEVER] = "check.never",
                                           [DW_CHECK_OVERDUE] = "check.overdue",
                                           [DW_CHECK_FAILED] = "check.failed",
                                           [DW_CHECK_VALID] = "check.valid"};
        char *text = dw_paper_words_fill(d->words, "service", keys[state], "name", name, "day", checked, NULL);
        dw_piece_quiet(d->flow, text);
        free(text);
    }
    dw_record_clear(&instrument.record);
}

// The sources of the limits of a group, each once, and why pairs could not be compared.
static void add_footnotes(DwDossier *d, size_t first)
{
    size_t row = d->flow->count - 1;
    const DwPair *pairs = d->comparison.pairs;
    DwText sources = {0};
    for (size_t i = first; i < d->comparison.count; i++) {
        if (!same_group(&pairs[i], &pairs[first]))
            continue;
        const DwReading *reading = pairs[i].after ? pairs[i].after : pairs[i].before;
        const char *source = reading->limit ? reading->limit->source : "";
        if (*source && !(sources.length && strstr(sources.chars, source)))
            dw_text_add(&sources, "%s%s", sources.length ? "; " : "", source);
        if (!pairs[i].comparable && pairs[i].before && pairs[i].after) {
            char *text = dw_paper_words_fill(d->words, "service", "not_comparable", "reading", reading->label, "reason",
                                             pairs[i].reason, NULL);
            dw_piece_quiet(d->flow, text);
            free(text);
        }
    }
    if (sources.length) {
        char *text = dw_paper_words_fill(d->words, "service", "sources", "sources", sources.chars, NULL);
        dw_piece_quiet(d->flow, text);
        free(text);
    }
    dw_text_clear(&sources);
    // A note stands on the page of the table's end.
    d->flow->pieces[row].with_next = d->flow->count > row + 1;
}

static void add_group(DwDossier *d, size_t first)
{
    static const DwPaperColumn columns[] = {
        {"reading", 0.215, DW_CELL_LEFT},        {"column.received", 0.125, DW_CELL_DECIMAL},
        {"column.left", 0.125, DW_CELL_DECIMAL}, {"uncertainty", 0.095, DW_CELL_DECIMAL},
        {"limit", 0.125, DW_CELL_LEFT},          {"grade", 0.165, DW_CELL_VERDICT},
        {"column.with", 0.15, DW_CELL_LEFT}};
    const DwPair *pairs = d->comparison.pairs;
    const DwMeasurement *from = from_of(&pairs[first]);
    dw_piece_heading(d->flow, strcmp(from->procedure, DW_MEASUREMENT_BY_HAND) == 0 ? say(d, "by_hand") : from->title);
    char *taken = provenance(d, &pairs[first]);
    dw_piece_quiet(d->flow, taken);
    d->flow->pieces[d->flow->count - 1].with_next = true;
    free(taken);
    DwPaperTable table = dw_dossier_table(d, "service", columns, 7);
    for (size_t i = first; i < d->comparison.count; i++)
        if (same_group(&pairs[i], &pairs[first]))
            add_pair(d, &table, &pairs[i]);
    add_footnotes(d, first);
    add_instrument_check(d, from->instrument);
}

void dw_service_add_measurements(DwDossier *d)
{
    const DwPair *pairs = d->comparison.pairs;
    if (d->comparison.count)
        dw_dossier_add_section(d, "service", "measurements", NULL);
    for (size_t i = 0; i < d->comparison.count; i++) {
        bool begun = false;
        for (size_t b = 0; b < i; b++)
            begun = begun || same_group(&pairs[b], &pairs[i]);
        if (!begun)
            add_group(d, i);
    }
}

static char *set_up_value(const DwSetUp *set_up)
{
    const char *unit = set_up->unit ? set_up->unit : "";
    return dw_text_format("%s%s%s", set_up->value, *unit ? dw_number_space(unit) : "", dw_number_unit(unit));
}

static const DwSetUp *find_set_up(const DwRecords *set_ups, const char *key)
{
    for (size_t i = 0; i < set_ups->count; i++) {
        const DwSetUp *set_up = (const DwSetUp *)dw_records_at(set_ups, i);
        if (strcmp(set_up->key, key) == 0)
            return set_up;
    }
    return NULL;
}

static void add_set_up(DwPaperTable *table, const DwSetUp *before, const DwSetUp *after)
{
    const DwSetUp *shown = after ? after : before;
    const char *instrument = shown->instrument ? shown->instrument : "", *remark = shown->remark ? shown->remark : "";
    char *was = before ? set_up_value(before) : dw_memory_text("–");
    char *is = after ? set_up_value(after) : dw_memory_text("–");
    char *how = dw_text_format("%s%s%s%s%s", instrument, *instrument && shown->method && *shown->method ? ", " : "",
                               shown->method ? shown->method : "",
                               *remark && (*instrument || (shown->method && *shown->method)) ? "; " : "", remark);
    dw_piece_table_row(table, (DwPaperCell[]){{.text = shown->label}, {.text = was}, {.text = is}, {.text = how}});
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
        add_set_up(&table, find_set_up(found, after->key), after);
    }
    for (size_t i = 0; i < found->count; i++) {
        const DwSetUp *before = (const DwSetUp *)dw_records_at(found, i);
        if (!find_set_up(left, before->key))
            add_set_up(&table, before, NULL);
    }
}

// "23.6 deg" as it is printed, "23.6°"; other text as it was typed.
static char *typed_value(const char *typed)
{
    const char *gap = strrchr(typed, ' ');
    const DwUnit *unit = gap ? dw_unit_any(gap + 1) : NULL;
    return unit ? dw_text_format("%.*s%s%s", (int)(gap - typed), typed, dw_number_space(unit->name),
                                 dw_number_unit(unit->name))
                : dw_memory_text(typed);
}

static bool is_other(const DwDeckValue *value, const DwRecords *found, const DwRecords *left)
{
    return !find_set_up(found, value->key) && !find_set_up(left, value->key);
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
        const DwQuantity *quantity = dw_quantity_find(value->key);
        char *shown = typed_value(value->value);
        dw_piece_table_row(&table, (DwPaperCell[]){{.text = quantity ? quantity->label : value->key}, {.text = shown}});
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
        dw_dossier_add_section(d, "service", "setup", NULL);
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

void dw_service_add_charts(DwDossier *d)
{
    bool headed = false;
    for (size_t i = 0; i < d->comparison.measurements.count; i++) {
        const DwSheet *sheet = sheet_at(d, i);
        const DwSheet *last = sheet ? partner(d, i, DW_PHASE_AS_LEFT) : NULL;
        const DwSheet *first = sheet ? partner(d, i, DW_PHASE_AS_RECEIVED) : NULL;
        // One chart for each pair, drawn when its later sheet comes by.
        if (!sheet || (!sheet->curve_count && !sheet->raster_count) || sheet != (last ? last : first))
            continue;
        if (!headed) {
            dw_dossier_add_section(d, "service", "charts", NULL);
            d->flow->pieces[d->flow->count - 1].with_next = true;
        }
        headed = true;
        const DwSheet *before = last && first != last ? first : NULL;
        for (size_t r = 0; r < sheet->raster_count; r++)
            add_raster(d, &sheet->rasters[r], before ? dw_sheet_raster(before, sheet->rasters[r].key) : NULL);
        add_chart(d, sheet, before);
    }
}
