// SPDX-License-Identifier: MIT
// How the cause was found: what the guide asked on the job, what was answered and what that said. In plain words for
// the owner, whole on the proof.
#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "chart/draw/number.h"
#include "report/papers.h"
#include "report/sentence/sentence.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { SHOWN_MOST = 6 };               // answers on the owner's report
static const double bits_shown = 0.3;  // an answer that weighs less decides little
static const double odds_leading = 50; // from here on the questions led to the cause

static const char *say(const DwDossier *d, const char *key)
{
    return dw_dossier_say(d, "service", key);
}

// One answer of the path.
typedef struct {
    const char *key, *answer, *from, *ask;
    double weight;
} Answer;

static const char *word_at(const DwTable *table, size_t row, size_t column)
{
    const char *word = column < table->column_count ? dw_table_cell(table, row, column)->word : NULL;
    return word ? word : "";
}

// A sheet of before questions were kept with their answers has their keys alone.
static Answer answer_at(const DwTable *table, size_t row)
{
    Answer answer = {word_at(table, row, 0), word_at(table, row, 1), word_at(table, row, 3), word_at(table, row, 4),
                     dw_table_cell(table, row, 2)->number};
    if (!*answer.ask)
        answer.ask = answer.key;
    return answer;
}

// Whether it was asked and answered: not the owner's words that were not understood.
static bool is_answer(const Answer *answer)
{
    return strcmp(answer->from, "not understood") != 0;
}

DwSheet *dw_service_path(const DwDossier *d)
{
    DwRecords measurements;
    DwSheet *path = NULL;
    if (dw_measurement_standing(d->book, d->job.record.id, &measurements, NULL) != DW_OK)
        return NULL;
    for (size_t i = measurements.count; i-- > 0 && !path;) {
        const DwMeasurement *measurement = (const DwMeasurement *)dw_records_at(&measurements, i);
        if (strcmp(measurement->procedure, "guide") != 0 || dw_measurement_sheet(measurement, &path, NULL) != DW_OK)
            continue;
        const DwTable *answers = dw_sheet_table(path, "guide.answers");
        if (answers && answers->row_count)
            break;
        dw_sheet_free(path);
        path = NULL;
    }
    dw_records_clear(&measurements);
    return path;
}

bool dw_service_path_leads(const DwSheet *path)
{
    const DwReading *odds = dw_sheet_reading(path, "guide.odds");
    return odds && odds->value >= odds_leading;
}

static const char *cause_of(const DwSheet *path)
{
    const DwReading *cause = dw_sheet_reading(path, "guide.cause");
    return cause && cause->word ? dw_said(cause->word) : "";
}

// "yes", "no, then yes": ANSWER as the guide keeps it in the paper's words. The caller frees it.
static char *answer_words(const DwDossier *d, const char *answer)
{
    size_t length = strcspn(answer, ",");
    char *first = dw_text_format("path.%.*s", (int)length, answer);
    const char *word = say(d, first);
    char *words = *word ? dw_memory_text(word) : dw_memory_text(dw_said(answer)); // a drive
    free(first);
    if (!answer[length])
        return words;
    char *second = answer_words(d, answer + length + 1);
    bool again = strcmp(words, second) == 0;
    char *both = dw_paper_words_fill(d->words, "service", again ? "path.again" : "path.then", "first", words, "second",
                                     second, NULL);
    free(words);
    free(second);
    return both;
}

static const char *told_of(const DwDossier *d, const Answer *answer)
{
    return say(d, !(fabs(answer->weight) >= bits_shown) ? "path.little"
                  : answer->weight > 0                  ? "path.for"
                                                        : "path.against");
}

// The weight that SHOWN_MOST answers of TABLE reach and no more do.
static double weight_shown(const DwTable *table)
{
    double least = bits_shown;
    for (;;) {
        size_t count = 0;
        double next = INFINITY;
        for (size_t r = 0; r < table->row_count; r++) {
            double weight = fabs(answer_at(table, r).weight);
            count += weight >= least;
            next = weight > least && weight < next ? weight : next;
        }
        if (count <= SHOWN_MOST || !isfinite(next))
            return least;
        least = next;
    }
}

// The answers that decided most, in the order in which they were given.
static void add_strongest(DwDossier *d, const DwTable *answers)
{
    static const DwPaperColumn columns[] = {
        {"path.asked_us", 0.54, DW_CELL_LEFT}, {"path.answer", 0.22, DW_CELL_LEFT}, {"path.told", 0.24, DW_CELL_LEFT}};
    double least = weight_shown(answers);
    size_t shown = 0;
    DwPaperTable table;
    for (size_t r = 0; r < answers->row_count && shown < SHOWN_MOST; r++) {
        Answer answer = answer_at(answers, r);
        if (!is_answer(&answer) || !(fabs(answer.weight) >= least) || answer.ask == answer.key)
            continue;
        if (!shown++)
            table = dw_dossier_table(d, "service", columns, 3);
        char *words = answer_words(d, answer.answer);
        dw_piece_table_row(
            &table, (DwPaperCell[]){{.text = dw_said(answer.ask)}, {.text = words}, {.text = told_of(d, &answer)}});
        free(words);
    }
}

void dw_service_add_path(DwDossier *d, bool in_full)
{
    DwSheet *path = dw_service_path(d);
    if (!path)
        return;
    char *leads = dw_sentence(d, "service", "path.leads", NULL, "cause", cause_of(path), NULL);
    char *open = dw_sentence(d, "service", "path.open", NULL, NULL);
    dw_piece_heading(d->flow, say(d, "path"));
    if (in_full)
        add_strongest(d, dw_sheet_table(path, "guide.answers"));
    dw_piece_paragraph(d->flow, *leads ? leads : open);
    free(leads);
    free(open);
    dw_sheet_free(path);
}

static void add_whole(DwDossier *d, const DwTable *answers)
{
    static const DwPaperColumn columns[] = {{"path.question", 0.52, DW_CELL_LEFT},
                                            {"path.answer", 0.2, DW_CELL_LEFT},
                                            {"path.weight", 0.1, DW_CELL_LEFT},
                                            {"path.from", 0.18, DW_CELL_LEFT}};
    DwPaperTable table = dw_dossier_table(d, "service", columns, 4);
    for (size_t r = 0; r < answers->row_count; r++) {
        Answer answer = answer_at(answers, r);
        if (!is_answer(&answer))
            continue;
        char *words = answer_words(d, answer.answer);
        DwNumber weight = dw_number_print(answer.weight, 1, true);
        dw_piece_table_row(
            &table,
            (DwPaperCell[]){{.text = dw_said(answer.ask)},
                            {.text = words},
                            {.text = isfinite(answer.weight) ? weight.text : "–"},
                            {.text = say(d, strcmp(answer.from, "answered") == 0 ? "path.by_hand" : "path.measured")}});
        free(words);
    }
}

void dw_service_add_path_whole(DwDossier *d)
{
    DwSheet *path = dw_service_path(d);
    if (!path)
        return;
    const DwReading *odds = dw_sheet_reading(path, "guide.odds"), *none = dw_sheet_reading(path, "guide.none");
    DwNumber likely = dw_number_print(odds ? odds->value : NAN, 0, false);
    DwNumber other = dw_number_print(none ? none->value : NAN, 1, false);
    dw_piece_heading(d->flow, say(d, "path.whole"));
    add_whole(d, dw_sheet_table(path, "guide.answers"));
    const char *cause = cause_of(path);
    char *ended =
        dw_sentence(d, "service", "path.ended", cause, "cause", cause, "odds", likely.text, "none", other.text, NULL);
    dw_piece_paragraph(d->flow, ended);
    free(ended);
    dw_sheet_free(path);
}
