// SPDX-License-Identifier: MIT
// The tables of every reading: a row for each measurement, with its own uncertainty,
// limit and verdict, and below the table what is doubtful about it.
#include "base/memory.h"
#include "base/text.h"
#include "book/shop/register.h"
#include "chart/draw/number.h"
#include "report/papers.h"
#include "report/sentence/sentence.h"
#include "report/standing.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

enum { COLUMNS_MOST = 5, SIDES = 2 };

// A pair's readings, as received first, and where each comes from.
typedef struct {
    const DwReading *reading[SIDES];
    const DwMeasurement *from[SIDES];
} Sides;

static const char *say(const DwDossier *d, const char *key)
{
    return dw_dossier_say(d, "service", key);
}

static Sides sides_of(const DwPair *pair)
{
    return (Sides){{pair->before, pair->after}, {pair->before_from, pair->after_from}};
}

// Decimals for VALUE ± DOUBT: two significant digits of the doubt, no more than the reading has.
static int places(const DwReading *reading)
{
    double doubt = reading->uncertainty;
    if (!isfinite(doubt) || doubt <= 0)
        return reading->digits;
    int wanted = 1 - (int)floor(log10(doubt));
    return wanted < 0 ? 0 : wanted < reading->digits ? wanted : reading->digits;
}

// "0.227 ± 0.064": the uncertainty is rounded up, so that it never prints as nothing.
static char *value_text(const DwDossier *d, const DwReading *reading)
{
    if (reading->word)
        return dw_memory_text(reading->word);
    if (!isfinite(reading->value))
        return dw_memory_text(say(d, "undefined"));
    int digits = places(reading);
    DwNumber value = dw_number_print(reading->value, digits, dw_number_signed(reading));
    if (!isfinite(reading->uncertainty) || reading->uncertainty <= 0)
        return dw_memory_text(value.text);
    double step = pow(10, -digits);
    DwNumber doubt = dw_number_print(ceil(reading->uncertainty / step - 1e-9) * step, digits, false);
    return dw_text_format("%s ± %s", value.text, doubt.text);
}

// A limit has as many places as it needs, and two more than the reading at most.
static DwNumber limit_number(double value, const DwReading *reading)
{
    for (int digits = 0; digits <= reading->digits + 2; digits++) {
        double scale = pow(10, digits);
        if (fabs(round(value * scale) / scale - value) < 1e-9 * fmax(1, fabs(value)))
            return dw_number_print(value, digits, dw_number_signed(reading));
    }
    return dw_number_print(value, reading->digits, dw_number_signed(reading));
}

static char *limit_text(const DwDossier *d, const DwReading *reading)
{
    const DwLimit *limit = reading->limit;
    if (!limit || (!isfinite(limit->low) && !isfinite(limit->high)))
        return dw_memory_text("–");
    DwNumber low = limit_number(limit->low, reading), high = limit_number(limit->high, reading);
    const char *key = !isfinite(limit->low) ? "limit.up_to" : isfinite(limit->high) ? "limit.between" : "limit.from";
    return dw_paper_words_fill(d->words, "service", key, "low", low.text, "high", high.text, NULL);
}

// Two measurements of one kind stand in one table when they were taken with the same things.
static bool taken_alike(const DwMeasurement *a, const DwMeasurement *b)
{
    return !a || !b ||
           (strcmp(a->procedure, b->procedure) == 0 && strcmp(a->speed, b->speed) == 0 &&
            strcmp(a->instrument, b->instrument) == 0 && strcmp(a->chain, b->chain) == 0 &&
            strcmp(a->test_record, b->test_record) == 0);
}

static const DwMeasurement *either(const DwPair *pair)
{
    return pair->after_from ? pair->after_from : pair->before_from;
}

static bool same_group(const DwPair *a, const DwPair *b)
{
    const DwMeasurement *one = either(a), *other = either(b);
    return strcmp(one->procedure, other->procedure) == 0 && strcmp(one->speed, other->speed) == 0 &&
           strcasecmp(a->arm, b->arm) == 0 && taken_alike(a->before_from, b->before_from) &&
           taken_alike(a->after_from, b->after_from);
}

// What a table needs room for.
typedef struct {
    bool when, limits;
} Shape;

static Shape shape_of(const DwDossier *d, size_t first)
{
    bool phases[SIDES] = {false, false};
    Shape shape = {false, false};
    for (size_t i = first; i < d->comparison.count; i++) {
        const DwPair *pair = &d->comparison.pairs[i];
        Sides sides = sides_of(pair);
        for (int s = 0; s < SIDES && same_group(pair, &d->comparison.pairs[first]); s++) {
            phases[s] = phases[s] || sides.reading[s];
            shape.limits = shape.limits || (sides.reading[s] && sides.reading[s]->limit);
        }
    }
    shape.when = phases[0] && phases[1];
    return shape;
}

static DwPaperTable begin_table(DwDossier *d, Shape shape)
{
    const struct {
        DwPaperColumn column;
        bool used;
    } all[COLUMNS_MOST] = {{{"reading", 0.27, DW_CELL_LEFT}, true},
                           {{"when", 0.16, DW_CELL_LEFT}, shape.when},
                           {{"value", 0.21, DW_CELL_DECIMAL}, true},
                           {{"limit", 0.17, DW_CELL_LEFT}, shape.limits},
                           {{"grade", 0.19, DW_CELL_VERDICT}, shape.limits}};
    DwPaperColumn columns[COLUMNS_MOST];
    size_t count = 0;
    double whole = 0;
    for (size_t i = 0; i < COLUMNS_MOST; i++)
        if (all[i].used) {
            whole += all[i].column.share;
            columns[count++] = all[i].column;
        }
    for (size_t i = 0; i < count; i++)
        columns[i].share /= whole;
    return dw_dossier_table(d, "service", columns, count);
}

static void add_row(DwDossier *d, DwPaperTable *table, Shape shape, const char *name, const char *when,
                    const DwReading *reading)
{
    DwPaperCell cells[COLUMNS_MOST] = {{.text = name}};
    char *value = value_text(d, reading), *limit = limit_text(d, reading);
    size_t at = 1;
    if (shape.when)
        cells[at++].text = when;
    cells[at++].text = value;
    if (shape.limits) {
        cells[at++].text = limit;
        cells[at++] = (DwPaperCell){"", reading->verdict};
    }
    dw_piece_table_row(table, cells);
    free(value);
    free(limit);
}

// As received and as left stand on one page, the name once where it is the same.
static void add_pair(DwDossier *d, DwPaperTable *table, Shape shape, const DwPair *pair)
{
    Sides sides = sides_of(pair);
    const char *const when[SIDES] = {say(d, "received"), say(d, "left")};
    char *named = NULL;
    for (int s = 0; s < SIDES; s++) {
        const DwReading *reading = sides.reading[s];
        if (!reading)
            continue;
        const char *unit = dw_number_unit(reading->unit);
        char *name =
            dw_text_format("%s%s%s", dw_standing_proof_name(d, reading->key, reading->label), *unit ? ", " : "", unit);
        if (named)
            d->flow->pieces[d->flow->count - 1].with_next = true;
        add_row(d, table, shape, named && strcmp(named, name) == 0 ? "" : name, when[s], reading);
        free(named);
        named = name;
    }
    free(named);
}

// The recording chain with the day of its check.
static char *chain_text(const DwDossier *d, const char *name)
{
    DwChain chain;
    dw_record_init(&chain.record, &dw_chain_entity);
    bool checked = *name && dw_record_find(d->book, &chain.record, "name", name, NULL) == DW_OK && chain.checked_on &&
                   *chain.checked_on;
    char *day = dw_dossier_day(checked ? chain.checked_on : NULL);
    char *text = checked ? dw_paper_words_fill(d->words, "service", "with.checked", "name", name, "day", day, NULL)
                         : dw_memory_text(name);
    free(day);
    dw_record_clear(&chain.record);
    return text;
}

// What names no record, chain or instrument was worked out, or read off with nobody saying by what.
static const char *unnamed(const DwMeasurement *from)
{
    if (*from->subject || *from->instrument || *from->chain)
        return "named";
    return strcmp(from->procedure, DW_MEASUREMENT_BY_HAND) == 0 ? "unsaid" : "sums";
}

// An alignment's figures are those to aim at but where they say that they were found.
static const char *aim_of(const DwMeasurement *from)
{
    return strcmp(from->procedure, "align") == 0 ? "aim" : "measured";
}

// "Record …. Chain …. By …": what one measurement was taken with, and of which ARM of several.
static char *taken_with(const DwDossier *d, const DwMeasurement *from, const char *arm)
{
    DwText text = {0};
    const struct {
        const char *key;
        char *value;
    } parts[] = {
        {"taken.speed", dw_dossier_number(from->speed)},
        {"taken.arm", dw_memory_text(arm)},
        {"taken.record", dw_memory_text(from->test_record)},
        {"taken.chain", chain_text(d, from->chain)},
        {"taken.instrument", dw_memory_text(from->instrument)},
        {"taken.sums", dw_memory_text(unnamed(from))},
        {"taken.unsaid", dw_memory_text(unnamed(from))},
        {"taken.by", dw_memory_text(from->who)},
        {"taken.aim", dw_memory_text(aim_of(from))},
    };
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        char *part = dw_sentence(d, "service", parts[i].key, parts[i].value, "value", parts[i].value, NULL);
        if (*part)
            dw_text_add(&text, "%s%s", text.length ? " " : "", part);
        free(part);
        free(parts[i].value);
    }
    return text.length ? dw_text_take(&text) : dw_memory_text("");
}

static char *taken_at(const DwDossier *d, const char *key, const DwMeasurement *from)
{
    char *time = dw_dossier_time(from ? from->at : NULL);
    char *text = dw_sentence(d, "service", key, time, "value", time, NULL);
    free(time);
    return text;
}

// The first measurement of each phase in the group that begins at FIRST.
static Sides sources_of(const DwDossier *d, size_t first)
{
    Sides found = {{NULL}, {NULL}};
    for (size_t i = first; i < d->comparison.count; i++) {
        const DwPair *pair = &d->comparison.pairs[i];
        Sides sides = sides_of(pair);
        for (int s = 0; s < SIDES && same_group(pair, &d->comparison.pairs[first]); s++)
            if (!found.from[s])
                found.from[s] = sides.from[s];
    }
    return found;
}

// One line for both phases where they were taken alike, else one for each.
static void add_provenance(DwDossier *d, const Sides *sources, const char *arm)
{
    static const char *const keys[SIDES] = {"taken.before", "taken.after"};
    char *with[SIDES], *at[SIDES];
    for (int s = 0; s < SIDES; s++) {
        at[s] = taken_at(d, keys[s], sources->from[s]);
        with[s] = sources->from[s] ? taken_with(d, sources->from[s], arm) : dw_memory_text("");
    }
    bool alike = !sources->from[0] || !sources->from[1] || strcmp(with[0], with[1]) == 0;
    char *text = alike ? dw_text_format("%s%s%s %s", at[0], *at[0] && *at[1] ? " " : "", at[1],
                                        sources->from[1] ? with[1] : with[0])
                       : dw_text_format("%s %s\n%s %s", at[0], with[0], at[1], with[1]);
    size_t first = d->flow->count;
    dw_piece_quiet(d->flow, text);
    for (size_t i = first; i < d->flow->count; i++)
        d->flow->pieces[i].with_next = true;
    free(text);
    for (int s = 0; s < SIDES; s++) {
        free(with[s]);
        free(at[s]);
    }
}

// The last check of the instrument that a reading was taken with.
static void add_instrument_check(DwDossier *d, const char *name)
{
    static const char *const states[] = {[DW_CHECK_NOT_NEEDED] = "valid",
                                         [DW_CHECK_NEVER] = "never",
                                         [DW_CHECK_OVERDUE] = "overdue",
                                         [DW_CHECK_FAILED] = "failed",
                                         [DW_CHECK_VALID] = "valid"};
    static const char *const keys[] = {"check.valid", "check.never", "check.overdue", "check.failed"};
    DwInstrument instrument;
    DwCheckState state;
    char checked[DW_DATE_SIZE] = "";
    DwCheckedWith with = {NULL};
    dw_record_init(&instrument.record, &dw_instrument_entity);
    bool known = *name && dw_record_find(d->book, &instrument.record, "name", name, NULL) == DW_OK &&
                 dw_instrument_state(d->book, instrument.record.id, &state, checked, NULL) == DW_OK;
    // Without an interval and without a check there is nothing to say.
    if (known && (state != DW_CHECK_NOT_NEEDED || *checked))
        with.state = states[state];
    char *day = dw_dossier_day(checked);
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        char *text = dw_sentence(d, "service", keys[i], &with, "name", name, "day", day, NULL);
        dw_piece_quiet(d->flow, text);
        free(text);
    }
    free(day);
    dw_record_clear(&instrument.record);
}

// Adds TEXT, which it frees, unless SAID holds it already.
static void add_note(DwDossier *d, DwText *said, char *text)
{
    if (*text && !(said->length && strstr(said->chars, text))) {
        dw_text_add(said, "%s\n", text);
        dw_piece_quiet(d->flow, text);
    }
    free(text);
}

static char *flags_text(const DwDossier *d, const DwReading *reading, const char *when)
{
    DwText flags = {0};
    for (unsigned i = 0; reading && i < DW_FLAG_COUNT; i++) {
        if (!(reading->flags & (1U << i)))
            continue;
        char *key = dw_text_format("flag.%s", dw_flag_word((DwFlag)(1U << i)));
        dw_text_add(&flags, "%s%s", flags.length ? ", " : "", say(d, key));
        free(key);
    }
    char *text = dw_sentence(d, "service", "doubtful", reading, "reading",
                             reading ? dw_standing_proof_name(d, reading->key, reading->label) : "", "when", when,
                             "doubts", flags.length ? flags.chars : "", NULL);
    dw_text_clear(&flags);
    return text;
}

// What is doubtful about a pair's readings, and why the two could not be compared.
static void add_notes(DwDossier *d, DwText *said, const DwPair *pair)
{
    const DwReading *reading = pair->after ? pair->after : pair->before;
    const char *label = dw_standing_proof_name(d, reading->key, reading->label);
    add_note(d, said, flags_text(d, pair->before, say(d, "received")));
    add_note(d, said, flags_text(d, pair->after, say(d, "left")));
    add_note(d, said,
             dw_sentence(d, "service", "not_comparable", pair, "reading", label, "reason", pair->reason, NULL));
}

static void add_source(const DwDossier *d, DwText *sources, const DwReading *reading)
{
    const char *source =
        reading && reading->limit ? dw_paper_words_same(d->words, "sources", reading->limit->source) : "";
    if (*source && !(sources->length && strstr(sources->chars, source)))
        dw_text_add(sources, "%s%s", sources->length ? "; " : "", source);
}

// Notes stand on the page of the table's end, the sources of its limits each once.
static void add_footnotes(DwDossier *d, size_t first)
{
    size_t row = d->flow->count - 1;
    const DwPair *pairs = d->comparison.pairs;
    DwText sources = {0}, said = {0};
    for (size_t i = first; i < d->comparison.count; i++) {
        if (!same_group(&pairs[i], &pairs[first]))
            continue;
        add_source(d, &sources, pairs[i].before);
        add_source(d, &sources, pairs[i].after);
        add_notes(d, &said, &pairs[i]);
    }
    const char *list = sources.length ? sources.chars : "";
    char *text = dw_sentence(d, "service", "sources", list, "sources", list, NULL);
    dw_piece_quiet(d->flow, text);
    free(text);
    dw_text_clear(&sources);
    dw_text_clear(&said);
    d->flow->pieces[row].with_next = d->flow->count > row + 1;
}

static void add_group(DwDossier *d, size_t first)
{
    const DwPair *pairs = d->comparison.pairs;
    const DwMeasurement *from = either(&pairs[first]);
    Sides sources = sources_of(d, first);
    Shape shape = shape_of(d, first);
    dw_piece_heading(d->flow, strcmp(from->procedure, DW_MEASUREMENT_BY_HAND) == 0 ? say(d, "by_hand")
                                                                                   : dw_standing_label(d, from->title));
    add_provenance(d, &sources, d->comparison.pairs[first].arm);
    DwPaperTable table = begin_table(d, shape);
    for (size_t i = first; i < d->comparison.count; i++)
        if (same_group(&pairs[i], &pairs[first]))
            add_pair(d, &table, shape, &pairs[i]);
    add_footnotes(d, first);
    for (int s = 0; s < SIDES; s++) {
        const char *name = sources.from[s] ? sources.from[s]->instrument : "";
        bool again = s && sources.from[0] && strcmp(sources.from[0]->instrument, name) == 0;
        if (!again)
            add_instrument_check(d, name);
    }
}

void dw_service_add_measurements(DwDossier *d)
{
    const DwPair *pairs = d->comparison.pairs;
    if (d->comparison.count)
        dw_dossier_add_fixed(d, "service", "measurements", NULL);
    for (size_t i = 0; i < d->comparison.count; i++) {
        bool begun = false;
        for (size_t b = 0; b < i; b++)
            begun = begun || same_group(&pairs[b], &pairs[i]);
        if (!begun)
            add_group(d, i);
    }
}
