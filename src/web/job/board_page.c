// SPDX-License-Identifier: MIT
// The board: every deck in the shop by what it waits for and since when.
#include "book/care/backup.h"
#include "book/job/board.h"
#include "book/store/moment.h"
#include "web/job/pages.h"
#include "web/page/page.h"
#include "web/server/words.h"

#include <stdio.h>
#include <string.h>

// What a deck waits for, in the order in which a morning goes.
static const struct {
    const char *words;
    const char *none; // said where it matters that there is none, else NULL
    unsigned states;  // a bit for each DwJobState
} groups[] = {
    {N_("For us"), N_("Nothing waits for us."),
     1U << DW_JOB_RECEIVED | 1U << DW_JOB_MEASURING | 1U << DW_JOB_ESTIMATING | 1U << DW_JOB_ON_BENCH |
         1U << DW_JOB_VERIFYING},
    {N_("For the owner's answer"), NULL, 1U << DW_JOB_WAITING_APPROVAL},
    {N_("For a part"), NULL, 1U << DW_JOB_WAITING_PART},
    {N_("For time: soaking, running in"), NULL, 1U << DW_JOB_WAITING_SOAK},
    {N_("For collection"), NULL, 1U << DW_JOB_READY | 1U << DW_JOB_DECLINED},
    {N_("To come in"), NULL, 1U << DW_JOB_BOOKED},
};

static void write_mark(DwPage *page, const char *shape, const char *words)
{
    char mark[32];
    snprintf(mark, sizeof mark, "mark %s", shape);
    dw_html_open(page->html, "span", "class", "flag", NULL);
    dw_html_element(page->html, "span", "", "class", mark, "aria-hidden", "true", NULL);
    dw_html_text(page->html, " ");
    dw_html_text(page->html, words);
    dw_html_close(page->html, "span");
}

static void write_marks(DwPage *page, const DwBoardRow *row)
{
    if (row->unsafe)
        write_mark(page, "unsafe", _("Unsafe"));
    if (row->rush)
        write_mark(page, "rush", _("Rush"));
    if (row->overdue)
        write_mark(page, "overdue", _("Overdue"));
    if (row->lost)
        write_mark(page, "attention", _("Files lost"));
}

// "waiting for part, belt 590 mm: for 12 days"
static void write_waiting(DwPage *page, const DwBoardRow *row)
{
    DwHtml *html = page->html;
    dw_html_open(html, "span", NULL);
    dw_html_text(html, dw_words(dw_job_state_word(row->state)));
    if (*row->waiting_for)
        dw_html_format(html, " (%s)", row->waiting_for);
    dw_html_text(html, ", ");
    if (row->days == 0)
        dw_html_text(html, _("since today"));
    else
        dw_html_format(html, dw_words_count("for %ld day", "for %ld days", (unsigned long)row->days), row->days);
    dw_html_close(html, "span");
}

static void write_told(DwPage *page, const DwBoardRow *row)
{
    DwHtml *html = page->html;
    if (!*row->told_on)
        dw_html_text(html, _("owner not told anything yet"));
    else if (row->days_untold == 0)
        dw_html_text(html, _("owner told today"));
    else
        dw_html_format(
            html, dw_words_count("owner told %ld day ago", "owner told %ld days ago", (unsigned long)row->days_untold),
            row->days_untold);
}

static void write_row(DwPage *page, const DwBoardRow *row)
{
    DwHtml *html = page->html;
    char path[48];
    snprintf(path, sizeof path, "/job/%04lld", (long long)row->number);
    dw_html_open(html, "li", NULL);
    dw_html_open(html, "a", "href", path, "class", "card", NULL);
    dw_html_open(html, "span", "class", "headline", NULL);
    dw_html_open(html, "strong", NULL);
    dw_html_format(html, "%04lld %s", (long long)row->number, *row->deck ? row->deck : _("deck not named"));
    dw_html_close(html, "strong");
    dw_html_element(html, "span", row->customer, NULL);
    write_marks(page, row);
    dw_html_close(html, "span");
    write_waiting(page, row);
    dw_html_open(html, "span", "class", "quiet", NULL);
    if (*row->place)
        dw_html_format(html, "%s · ", row->place);
    if (*row->promised_on)
        dw_html_format(html, _("promised %s · "), row->promised_on);
    write_told(page, row);
    dw_html_close(html, "span");
    dw_html_close(html, "a");
    dw_html_close(html, "li");
}

static void write_group(DwPage *page, const DwBoard *board, size_t group)
{
    DwHtml *html = page->html;
    size_t count = 0;
    for (size_t i = 0; i < board->count; i++)
        count += (groups[group].states >> board->rows[i].state) & 1U;
    if (!count && !groups[group].none)
        return;
    dw_html_open(html, "section", NULL);
    dw_html_open(html, "h2", NULL);
    dw_html_format(html, "%s ", dw_words(groups[group].words));
    if (count) {
        dw_html_open(html, "span", "class", "quiet number", NULL);
        dw_html_format(html, "%zu", count);
        dw_html_close(html, "span");
    }
    dw_html_close(html, "h2");
    if (!count)
        dw_html_element(html, "p", dw_words(groups[group].none), "class", "quiet", NULL);
    if (count && (groups[group].states & 1U << DW_JOB_READY))
        dw_page_link(page, "/left", _("Notices, and decks left behind"));
    dw_html_open(html, "ul", "class", "cards", NULL);
    for (size_t i = 0; i < board->count; i++)
        if ((groups[group].states >> board->rows[i].state) & 1U)
            write_row(page, &board->rows[i]);
    dw_html_close(html, "ul");
    dw_html_close(html, "section");
}

// "0007 Corvin Studio", as a link.
static void write_promise(DwPage *page, const DwBoardRow *row)
{
    char path[48];
    snprintf(path, sizeof path, "/job/%04lld", (long long)row->number);
    dw_html_open(page->html, "li", NULL);
    dw_html_open(page->html, "a", "href", path, "class", "button second", NULL);
    dw_html_format(page->html, "%04lld %s", (long long)row->number, *row->deck ? row->deck : row->customer);
    if (row->overdue)
        dw_html_format(page->html, _(", promised %s"), row->promised_on);
    dw_html_close(page->html, "a");
    dw_html_close(page->html, "li");
}

// What was promised for today, and for a day before it that is over.
static void write_promises(DwPage *page, const DwBoard *board)
{
    char today[DW_DATE_SIZE];
    size_t count = 0;
    dw_book_today(page->request->book, today);
    for (size_t i = 0; i < board->count; i++)
        count += board->rows[i].overdue || strcmp(board->rows[i].promised_on, today) == 0;
    dw_html_open(page->html, "section", "class", "promises", "aria-labelledby", "promises-title", NULL);
    dw_html_element(page->html, "h2", count ? _("Promised for today or before") : _("Nothing is promised for today"),
                    "id", "promises-title", NULL);
    dw_html_open(page->html, "ul", NULL);
    for (size_t i = 0; i < board->count; i++)
        if (board->rows[i].overdue || strcmp(board->rows[i].promised_on, today) == 0)
            write_promise(page, &board->rows[i]);
    dw_html_close(page->html, "ul");
    dw_html_close(page->html, "section");
}

static void remind_of_backup(DwPage *page)
{
    bool never;
    int days = dw_backup_is_due(page->request->book, &never);
    if (days < 0)
        return;
    char words[160];
    snprintf(words, sizeof words,
             never ? _("The book is %d days old and was never backed up.") : _("The last backup is %d days old."),
             days);
    dw_page_remark(page, words);
    dw_page_link(page, "/shop/backup", _("To the backup"));
}

static DwAnswer show_board(const DwWebRequest *request)
{
    DwBoard board;
    DwMessage message;
    DwStatus status = dw_board_read(request->book, &board, &message);
    if (status != DW_OK)
        return dw_answer_trouble(status, &message);
    DwPage *page =
        dw_page_begin(request, &(DwPageHead){.title = _("Board"), .style = "job.css", .room = DW_ROOM_BOARD});
    DwHtml *html = page->html;
    dw_html_open(html, "div", "class", "title", NULL);
    dw_html_element(html, "h1", _("In the shop"), NULL);
    dw_page_link(page, "/job/new", _("New job"));
    dw_page_link(page, "/guide", _("What is wrong? On the telephone"));
    dw_html_close(html, "div");
    dw_html_element(html, "p", _("What each deck waits for, the longest wait first; a rush before all."), "class",
                    "quiet", NULL);
    write_promises(page, &board);
    dw_html_open(html, "div", "class", "board", NULL);
    for (size_t i = 0; i < sizeof groups / sizeof *groups; i++)
        write_group(page, &board, i);
    dw_html_close(html, "div");
    remind_of_backup(page);
    dw_board_clear(&board);
    return dw_page_end(page);
}

const DwWebRoute dw_routes_board[] = {
    {"GET", "/", show_board, false},
    {0},
};
