// SPDX-License-Identifier: MIT
// The job's page: what each part says in one line when it is folded.
#include "base/memory.h"
#include "base/text.h"
#include "book/money/consent.h"
#include "book/money/invoice.h"
#include "chart/draw/number.h"
#include "web/job/job_page.h"
#include "web/server/words.h"

#include <stdlib.h>
#include <string.h>

enum {
    WORDS_MOST = 90, // bytes of the owner's words in a line
    DIGITS_MOST = 2, // after the point: the sheet has them all
};

static void join(DwText *text, const char *words)
{
    if (*words)
        dw_text_add(text, "%s%s", text->length ? " · " : "", words);
}

static void join_count(DwText *text, const char *one, const char *many, int64_t count)
{
    if (count == 0)
        return;
    char *words = dw_text_format(dw_words_count(one, many, (unsigned long)count), (long)count);
    join(text, words);
    free(words);
}

static void add_intake(const DwJobView *view, DwText *text)
{
    const char *said = view->intake.words ? view->intake.words : "";
    if (*said) {
        size_t whole = strcspn(said, "\r\n");
        bool cut = whole > WORDS_MOST;
        dw_text_add(text, "%.*s%s", cut ? dw_text_whole(said, WORDS_MOST) : (int)whole, said, cut ? "…" : "");
    }
    join_count(text, "%ld accessory", "%ld accessories", view->numbers.accessories);
    join_count(text, "%ld mark", "%ld marks", view->numbers.marks);
}

static void add_readings(const DwJobNumberRow *row, DwText *text)
{
    char number[64];
    for (size_t i = 0; i < row->count; i++) {
        const DwJobNumber *reading = &row->readings[i];
        const char *unit = reading->unit;
        int digits = reading->digits < DIGITS_MOST ? (int)reading->digits : DIGITS_MOST;
        char *words = *reading->word ? dw_text_format("%s %s", dw_words(reading->label), dw_words(reading->word))
                                     : dw_text_format("%s %s%s%s%s", dw_words(reading->label),
                                                      reading->error && reading->value > 0 ? "+" : "",
                                                      dw_text_decimal(number, sizeof number, reading->value, digits),
                                                      dw_number_space(unit), dw_number_unit(unit));
        join(text, words);
        free(words);
    }
}

static void add_estimate(const DwJobView *view, DwText *text)
{
    int64_t agreed = DW_AMOUNT_NONE;
    dw_consent_agreed(view->request->book, view->job.record.id, &agreed, NULL);
    if (agreed == DW_AMOUNT_NONE)
        return;
    char *amount = dw_job_section_amount(view, agreed), *words = dw_text_format(_("%s agreed"), amount);
    join(text, words);
    free(amount);
    free(words);
}

static void add_work(const DwJobView *view, DwText *text)
{
    const DwJobNumbers *numbers = &view->numbers;
    if (!numbers->operations)
        return;
    char *words = dw_text_format(_("%ld of %ld done"), (long)(numbers->operations - numbers->operations_open),
                                 (long)numbers->operations);
    join(text, words);
    join(text, numbers->next_operation);
    free(words);
}

static void add_papers(const DwJobView *view, DwText *text)
{
    DwTotals totals = {0};
    if (!view->numbers.invoice_id ||
        dw_invoice_totals(view->request->book, view->numbers.invoice_id, &totals, NULL) != DW_OK)
        return;
    char *amount = dw_job_section_amount(view, totals.gross);
    char *words = dw_text_format(view->numbers.invoice_draft ? _("invoice %s, a draft") : _("invoice %s"), amount);
    join(text, words);
    join(text, view->facts.unpaid ? _("not paid") : "");
    join(text, view->facts.signed_out ? _("signed at hand-over") : "");
    free(amount);
    free(words);
}

static void add_state(const DwJobView *view, DwText *text)
{
    const char *told = view->job.owner_told_at;
    char day[DW_DATE_SIZE];
    join(text, dw_words(dw_job_state_word((DwJobState)view->job.state)));
    if (told && *told) {
        dw_moment_day(told, day);
        char *words = dw_text_format(_("owner told on %s"), day);
        join(text, words);
        free(words);
    } else
        join(text, _("owner not told anything yet"));
}

char *dw_job_fold_words(const DwJobView *view, int part)
{
    DwText text = {0};
    switch (part) {
    case DW_STATION_INTAKE:
        add_intake(view, &text);
        break;
    case DW_STATION_SAFETY:
        join(&text, view->numbers.judged);
        break;
    case DW_STATION_AS_RECEIVED:
        add_readings(&view->numbers.received, &text);
        break;
    case DW_STATION_FINDINGS:
        join(&text, view->numbers.found);
        join_count(&text, "%ld verdict", "%ld verdicts", view->numbers.verdicts);
        break;
    case DW_STATION_ESTIMATE:
        add_estimate(view, &text);
        break;
    case DW_STATION_WORK:
        add_work(view, &text);
        break;
    case DW_STATION_SET_UP:
        join_count(&text, "%ld setting noted", "%ld settings noted", view->numbers.settings);
        break;
    case DW_STATION_AS_LEFT:
        add_readings(&view->numbers.left, &text);
        break;
    case DW_STATION_PAPERS:
        add_papers(view, &text);
        break;
    default:
        add_state(view, &text);
    }
    // Where there is no number yet, or one that no longer holds, what is missing says why.
    if (part < DW_STATION_COUNT && (!text.length || view->stations[part].state == DW_STATION_STALE))
        join(&text, dw_words(view->stations[part].missing));
    return text.length ? dw_text_take(&text) : dw_memory_text("");
}
