// SPDX-License-Identifier: MIT
#include "web/job_line.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/board.h"
#include "book/deck.h"
#include "web/page.h"
#include "web/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

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

DwMomentWords dw_job_line_moment(const char *moment)
{
    DwMomentWords words = {""};
    struct tm at = {0}, here;
    if (!moment || sscanf(moment, "%d-%d-%dT%d:%d:%dZ", &at.tm_year, &at.tm_mon, &at.tm_mday, &at.tm_hour, &at.tm_min,
                          &at.tm_sec) != 6)
        return words;
    at.tm_year -= 1900;
    at.tm_mon -= 1;
    time_t seconds = timegm(&at);
    localtime_r(&seconds, &here);
    strftime(words.text, sizeof words.text, "%Y-%m-%d %H:%M", &here);
    return words;
}

// The caller frees it.
static char *deck_words(DwVisit *visit, int64_t id)
{
    DwDeck deck;
    DwMessage message;
    dw_record_init(&deck.record, &dw_deck_entity);
    char *words = id && dw_record_load(visit->book, &deck.record, id, &message) == DW_OK
                      ? dw_text_format("%s %s", deck.make ? deck.make : "", deck.model ? deck.model : "")
                      : dw_memory_text("");
    dw_record_clear(&deck.record);
    return words;
}

void dw_job_line_write(DwVisit *visit, const DwJob *job, const char *as)
{
    DwHtml *html = visit->html;
    char *path = dw_text_format("/job/%04lld", (long long)job->number), *deck = deck_words(visit, job->deck_id);
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

void dw_job_line_choose(DwVisit *visit, const char *name, const char *chosen)
{
    DwBoard board;
    DwMessage message;
    if (dw_board_read(visit->book, &board, &message) != DW_OK)
        board = (DwBoard){0};
    char **words = dw_memory_new(board.count + 1, sizeof *words), **values = dw_memory_new(board.count + 1, sizeof *values);
    size_t count = 0;
    if (*chosen) { // also when it has left the board
        words[count] = dw_memory_text(chosen);
        values[count++] = dw_memory_text(chosen);
    }
    for (size_t i = 0; i < board.count; i++) {
        char *number = dw_text_format("%04lld", (long long)board.rows[i].number);
        if (strcmp(number, chosen) == 0) {
            free(words[0]);
            words[0] = dw_text_format("%s %s", number, board.rows[i].deck);
            free(number);
            continue;
        }
        words[count] = dw_text_format("%s %s, %s", number, board.rows[i].deck, board.rows[i].customer);
        values[count++] = number;
    }
    dw_form_choice(visit, name, _("On the job"), (const char *const *)words, (const char *const *)values, count, chosen,
                   NULL);
    for (size_t i = 0; i < count; i++) {
        free(words[i]);
        free(values[i]);
    }
    free(words);
    free(values);
    dw_board_clear(&board);
}

void dw_job_line_choose_phase(DwVisit *visit, const char *name, const char *chosen)
{
    const char *words[PHASES - 1];
    for (size_t i = 1; i < PHASES; i++)
        words[i - 1] = dw_words(phase_words[i]);
    dw_form_choice(visit, name, _("When it was measured"), words, as_words + 1, PHASES - 1, chosen, NULL);
}
