// SPDX-License-Identifier: MIT
#include "web/job/job_line.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/job/board.h"
#include "book/shop/deck.h"
#include "web/page/page.h"
#include "web/server/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const as_words[] = {"", "received", "during", "left"};
static const char *const phase_words[] = {"", N_("as received"), N_("during the work"), N_("as left")};
enum { PHASES = sizeof as_words / sizeof *as_words };

const char *dw_job_line_phase(const char *as)
{
    for (size_t i = 1; i < PHASES; i++)
        if (strcmp(as_words[i], as) == 0)
            return dw_words(phase_words[i]);
    return "";
}

const char *dw_job_line_as(DwPhase phase)
{
    return (size_t)phase < PHASES ? as_words[phase] : "";
}

// The caller frees it.
static char *deck_words(const DwWebRequest *request, int64_t id)
{
    DwDeck deck;
    DwMessage message;
    dw_record_init(&deck.record, &dw_deck_entity);
    char *words = id && dw_record_load(request->book, &deck.record, id, &message) == DW_OK
                      ? dw_text_format("%s %s", deck.make ? deck.make : "", deck.model ? deck.model : "")
                      : dw_memory_text("");
    dw_record_clear(&deck.record);
    return words;
}

void dw_job_line_write(DwPage *page, const DwJob *job, const char *as)
{
    DwHtml *html = page->html;
    char *path = dw_text_format("/job/%04lld", (long long)job->number), *deck = deck_words(page->request, job->deck_id);
    const char *phase = dw_job_line_phase(as);
    dw_html_open(html, "p", "class", "job-line", NULL);
    dw_html_open(html, "a", "href", path, NULL);
    dw_html_format(html, _("Job %04lld"), (long long)job->number);
    dw_html_close(html, "a");
    if (*deck)
        dw_html_format(html, " · %s", deck);
    if (*phase)
        dw_html_format(html, " · %s", phase);
    dw_html_close(html, "p");
    free(path);
    free(deck);
}

// The job NUMBER in words, also when it has left the board; the caller frees it.
static char *job_words(const DwWebRequest *request, const char *number)
{
    DwJob job;
    DwMessage message;
    dw_record_init(&job.record, &dw_job_entity);
    DwStatus status = dw_job_find(request->book, number, &job, &message);
    char *deck = deck_words(request, status == DW_OK ? job.deck_id : 0);
    char *words = dw_text_format("%s %s", number, deck);
    dw_record_clear(&job.record);
    free(deck);
    return words;
}

void dw_job_line_choose(DwPage *page, const char *name, const char *chosen)
{
    DwBoard board;
    DwMessage message;
    if (dw_board_read(page->request->book, &board, &message) != DW_OK)
        board = (DwBoard){0};
    char **words = dw_memory_new(board.count + 1, sizeof *words),
         **values = dw_memory_new(board.count + 1, sizeof *values);
    size_t count = 0;
    if (*chosen) {
        words[count] = job_words(page->request, chosen);
        values[count++] = dw_memory_text(chosen);
    }
    for (size_t i = 0; i < board.count; i++) {
        char *number = dw_text_format("%04lld", (long long)board.rows[i].number);
        if (strcmp(number, chosen) == 0) {
            free(number);
            continue;
        }
        words[count] = dw_text_format("%s %s, %s", number, board.rows[i].deck, board.rows[i].customer);
        values[count++] = number;
    }
    dw_form_choice(page, name, _("On the job"), (const char *const *)words, (const char *const *)values, count, chosen,
                   NULL);
    for (size_t i = 0; i < count; i++) {
        free(words[i]);
        free(values[i]);
    }
    free(words);
    free(values);
    dw_board_clear(&board);
}

void dw_job_line_choose_phase(DwPage *page, const char *name, const char *chosen)
{
    const char *words[PHASES - 1];
    for (size_t i = 1; i < PHASES; i++)
        words[i - 1] = dw_words(phase_words[i]);
    dw_form_choice(page, name, _("When it was measured"), words, as_words + 1, PHASES - 1, chosen, NULL);
}
