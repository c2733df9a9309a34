// SPDX-License-Identifier: MIT
// Behind the first page: findings, verdicts, every reading, set-up, charts.
#include "base/memory.h"
#include "base/quantity.h"
#include "base/text.h"
#include "book/finding.h"
#include "book/register.h"
#include "book/verdict.h"
#include "chart/number.h"
#include "chart/sheet_plots.h"
#include "report/papers.h"

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

static void add_pair(DwDossier *d, DwPaperTable *table, const DwPair *pair)
{
    const DwReading *reading = pair->after ? pair->after : pair->before;
    char *before = value_text(d, pair->before), *after = value_text(d, pair->after), *limit = limit_text(d, reading);
    char *doubt = doubt_text(reading);
    const char *unit = dw_number_unit(reading->unit);
    char *name = dw_text_format("%s%s%s", reading->label, *unit ? ", " : "", unit);
    DwPaperCell cells[] = {{.text = name},  {.text = before}, {.text = after},
                           {.text = doubt}, {.text = limit},  {.text = "", .verdict = reading->verdict}};
    dw_piece_table_row(table, cells);
    free(name);
    free(before);
    free(after);
    free(limit);
    free(doubt);
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
}

static void add_group(DwDossier *d, size_t first)
{
    static const DwPaperColumn columns[] = {
        {"reading", 0.29, DW_CELL_LEFT},        {"column.received", 0.13, DW_CELL_DECIMAL},
        {"column.left", 0.12, DW_CELL_DECIMAL}, {"uncertainty", 0.1, DW_CELL_DECIMAL},
        {"limit", 0.17, DW_CELL_LEFT},          {"grade", 0.19, DW_CELL_VERDICT}};
    const DwPair *pairs = d->comparison.pairs;
    const DwMeasurement *from = from_of(&pairs[first]);
    dw_piece_heading(d->flow, strcmp(from->procedure, DW_MEASUREMENT_BY_HAND) == 0 ? say(d, "by_hand") : from->title);
    char *taken = provenance(d, &pairs[first]);
    dw_piece_quiet(d->flow, taken);
    d->flow->pieces[d->flow->count - 1].with_next = true;
    free(taken);
    DwPaperTable table = dw_dossier_table(d, "service", columns, 6);
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

// What is noted of the deck: where everything was set when it left.
DwStatus dw_service_add_setup(DwDossier *d, DwMessage *message)
{
    static const DwPaperColumn columns[] = {{"quantity", 0.6, DW_CELL_LEFT}, {"setting", 0.4, DW_CELL_LEFT}};
    DwRecords values;
    if (!d->deck.record.id)
        return DW_OK;
    DwStatus status = dw_record_list(d->book, &dw_deck_value_entity, "deck_id", d->deck.record.id, &values, message);
    if (status != DW_OK)
        return status;
    if (values.count) {
        dw_dossier_add_section(d, "service", "setup", NULL);
        DwPaperTable table = dw_dossier_table(d, "service", columns, 2);
        for (size_t i = 0; i < values.count; i++) {
            const DwDeckValue *value = (const DwDeckValue *)dw_records_at(&values, i);
            const DwQuantity *quantity = dw_quantity_find(value->key);
            dw_piece_table_row(
                &table, (DwPaperCell[]){{.text = quantity ? quantity->label : value->key}, {.text = value->value}});
        }
    }
    dw_records_clear(&values);
    return DW_OK;
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
    DwPlot *plots = dw_sheet_plots_new(sheet, before, &count);
    d->charts = dw_memory_resize(d->charts, d->chart_count + 1, sizeof *d->charts);
    d->charts[d->chart_count].plots = plots;
    d->charts[d->chart_count++].count = count;
    for (size_t i = 0; i < count; i++)
        dw_piece_plot(d->flow, &plots[i]);
}

void dw_service_add_charts(DwDossier *d)
{
    bool headed = false;
    for (size_t i = 0; i < d->comparison.measurements.count; i++) {
        const DwSheet *sheet = sheet_at(d, i);
        const DwSheet *last = sheet ? partner(d, i, DW_PHASE_AS_LEFT) : NULL;
        const DwSheet *first = sheet ? partner(d, i, DW_PHASE_AS_RECEIVED) : NULL;
        // One chart for each pair, drawn when its later sheet comes by.
        if (!sheet || !sheet->curve_count || sheet != (last ? last : first))
            continue;
        if (!headed) {
            dw_dossier_add_section(d, "service", "charts", NULL);
            d->flow->pieces[d->flow->count - 1].with_next = true;
        }
        headed = true;
        add_chart(d, sheet, last && first != last ? first : NULL);
    }
}
