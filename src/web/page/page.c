// SPDX-License-Identifier: MIT
#include "web/page/page.h"

#include "base/memory.h"
#include "base/quantity.h"
#include "base/text.h"
#include "book/store/moment.h"
#include "web/page/kept.h"
#include "web/page/person_mark.h"
#include "web/server/route.h"
#include "web/server/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
    DwRoom room;
    const char *path;
    const char *words;
} Door;

static const Door doors[] = {
    {DW_ROOM_BOARD, "/", N_("Board")},
    {DW_ROOM_LIVE, "/live", N_("Live")},
    {DW_ROOM_MEASURE, "/measure", N_("Measure")},
    {DW_ROOM_BOOK, "/book", N_("Book")},
    {DW_ROOM_SHOP, "/shop", N_("Shop")},
};

static void write_head(DwPage *page, const DwPageHead *head)
{
    DwHtml *html = page->html;
    dw_html_open(html, "head", NULL);
    dw_html_void(html, "meta", "charset", "utf-8", NULL);
    dw_html_void(html, "meta", "name", "viewport", "content", "width=device-width, initial-scale=1", NULL);
    dw_html_void(html, "meta", "name", "color-scheme", "content", "light dark", NULL);
    // What a script sends back with whatever it changes.
    dw_html_void(html, "meta", "name", "form-token", "content", page->request->form_token, NULL);
    dw_html_open(html, "title", NULL);
    dw_html_format(html, "%s · Deckwright", head->title);
    dw_html_close(html, "title");
    dw_html_void(html, "link", "rel", "icon", "type", "image/svg+xml", "href", dw_asset_path("mark.svg"), NULL);
    dw_html_void(html, "link", "rel", "manifest", "href", dw_asset_path("bench.webmanifest"), NULL);
    dw_html_void(html, "link", "rel", "stylesheet", "href", dw_asset_path("bench.css"), NULL);
    if (head->style)
        dw_html_void(html, "link", "rel", "stylesheet", "href", dw_asset_path(head->style), NULL);
    dw_html_element(html, "script", "", "src", dw_asset_path("bench.js"), "defer", DW_HTML_BARE, NULL);
    dw_html_element(html, "script", "", "src", dw_asset_path("drafts.js"), "defer", DW_HTML_BARE, NULL);
    dw_html_element(html, "script", "", "src", dw_asset_path("keypad.js"), "defer", DW_HTML_BARE, NULL);
    if (head->first)
        dw_html_element(html, "script", "", "src", dw_asset_path(head->first), "defer", DW_HTML_BARE, NULL);
    if (head->script)
        dw_html_element(html, "script", "", "src", dw_asset_path(head->script), "defer", DW_HTML_BARE, NULL);
    dw_html_close(html, "head");
}

static void write_search(DwPage *page)
{
    DwHtml *html = page->html;
    dw_html_open(html, "form", "action", "/find", "method", "get", "role", "search", "class", "find", NULL);
    dw_html_void(html, "input", "type", "search", "name", "words", "aria-label",
                 _("Find a job, an owner or a deck by name, serial or number"), "placeholder",
                 _("Name, serial, number"), "autocomplete", "off", NULL);
    dw_html_element(html, "button", _("Find"), "type", "submit", NULL);
    dw_html_close(html, "form");
}

// Who is at work on this device, where the shop has a list of people.
static void write_who(DwPage *page)
{
    const DwWebRequest *request = page->request;
    if (!request->people->count)
        return;
    char *path = dw_text_format("/who?to=%s", request->path);
    char *label = request->person ? dw_text_format(_("At work: %s"), request->person->name) : NULL;
    dw_html_open(page->html, "a", "class", "who", "href", path, "aria-label", label ? label : DW_HTML_NONE, NULL);
    if (request->person)
        dw_person_write(page->html, request->people, request->person->name);
    else
        dw_html_text(page->html, _("Who is at work?"));
    dw_html_close(page->html, "a");
    free(label);
    free(path);
}

static void write_rooms(DwPage *page, DwRoom room)
{
    DwHtml *html = page->html;
    dw_html_open(html, "header", "class", "bench", NULL);
    dw_html_element(html, "a", _("To the main part"), "href", "#main", "class", "skip", NULL);
    dw_html_open(html, "nav", "aria-label", _("Rooms of the bench"), NULL);
    for (size_t i = 0; i < sizeof doors / sizeof *doors; i++)
        dw_html_element(html, "a", dw_words(doors[i].words), "href", doors[i].path, "aria-current",
                        doors[i].room == room ? "page" : DW_HTML_NONE, NULL);
    dw_html_close(html, "nav");
    write_who(page);
    write_search(page);
    dw_html_close(html, "header");
}

// The one place where a page says what was kept and what was not (bench.js): trouble
// above, news below it, so that neither covers the other.
static void write_word(DwPage *page)
{
    DwHtml *html = page->html;
    dw_html_open(
        html, "div", "id", "word", "class", "word", "data-worker", dw_asset_path("worker.js"), "data-seen", _("Seen"),
        "data-offline", _("The bench was not reached. What you changed is still on this page and is not kept yet."),
        "data-refused", _("The bench refused this and did not say why. What you changed is still on this page."),
        "data-unfinished", _("That date is not whole. It is kept once it is."), "data-later",
        _("Something on this page is not kept yet: it shows this when it is loaded again."), "data-mine",
        _("Keep mine"), "data-theirs", _("Take the other"), "data-draft",
        _("What you had typed here before stands again. It is not kept yet."), "data-keep-it", _("Keep"), "data-away",
        _("The bench is not reached. The page is shown again when it is."), "data-broken",
        _("The bench is not reached just now. What was sent so far is there; the rest goes on by itself."), "data-on",
        _("The bench is there again, and sending goes on."), "data-gone",
        _("This file can no longer be read: it was changed or is gone since it was chosen. Choose it again."),
        "data-pad", _("Keypad"), "data-pad-next", _("Next"), "data-pad-done", _("Done"), "data-pad-erase", _("Erase"),
        "data-pad-sign", _("Plus or minus"), "data-pad-own", _("Letters"), NULL);
    dw_html_element(html, "div", "", "class", "wrong", "role", "alert", NULL);
    dw_html_open(html, "div", "class", "told", "role", "status", NULL);
    dw_kept_write(page);
    dw_html_close(html, "div");
    dw_html_close(html, "div");
}

void dw_page_hand_over(DwPage *page, const char *address)
{
    if (page->request->locked)
        return;
    dw_form_begin(page, "/lock", false);
    dw_html_void(page->html, "input", "type", "hidden", "name", "to", "value", address, NULL);
    dw_html_element(page->html, "button", _("Hand the screen to the customer"), "type", "submit", "class", "second",
                    NULL);
    dw_form_end(page);
}

DwPage *dw_page_begin(const DwWebRequest *request, const DwPageHead *head)
{
    DwPage *page = dw_memory_new(1, sizeof *page);
    *page = (DwPage){.request = request, .html = dw_html_new(), .status = head->status};
    DwHtml *html = page->html;
    dw_html_open(html, "html", "lang", _("en"), "class",
                 request->locked       ? "locked"
                 : request->large_type ? "large"
                                       : DW_HTML_NONE,
                 NULL);
    write_head(page, head);
    dw_html_open(html, "body", NULL);
    if (!head->plain && head->room != DW_ROOM_NONE && !request->locked)
        write_rooms(page, head->room);
    if (!head->plain && head->room != DW_ROOM_NONE && !request->locked)
        snprintf(page->help, sizeof page->help, "%s%s%s", dw_asset_path("handbook.html"), head->help ? "#page-" : "",
                 head->help ? head->help : "");
    write_word(page);
    dw_html_open(html, "main", "id", "main", NULL);
    return page;
}

char *dw_page_here(const DwPage *page, const char *path, const char *more)
{
    bool any = *page->part || *more, both = *page->part && *more;
    return dw_text_format("%s%s%s%s%s", path, any ? "?" : "", page->part, both ? "&" : "", more);
}

DwAnswer dw_page_end(DwPage *page)
{
    DwHtml *html = page->html;
    dw_html_close(html, "main");
    if (page->help[0]) {
        dw_html_open(html, "footer", NULL);
        dw_html_element(html, "a", _("Help"), "href", page->help, NULL);
        dw_html_close(html, "footer");
    }
    if (page->request->locked) {
        dw_html_open(html, "footer", "class", "unlock", NULL);
        dw_html_element(html, "a", _("For the shop: unlock"), "href", "/unlock", "class", "button second", NULL);
        dw_html_close(html, "footer");
    }
    dw_html_close(html, "body");
    dw_html_close(html, "html");
    size_t length;
    char *body = dw_html_take(html, &length);
    dw_html_free(html);
    // Only the doctype stands outside the writer.
    char *text = dw_text_format("<!DOCTYPE html>\n%s\n", body);
    free(body);
    DwAnswer answer = dw_answer_bytes("text/html; charset=utf-8", text, strlen(text));
    answer.status = page->status;
    free(page);
    return answer;
}

DwAnswer dw_page_refusal(const DwWebRequest *request, const DwAnswer *refusal, const char *words)
{
    const char *again = refusal->place;
    DwPage *page = dw_page_begin(
        request, &(DwPageHead){.title = _("Not done"), .room = request->known ? DW_ROOM_BOARD : DW_ROOM_NONE});
    DwHtml *html = page->html;
    dw_html_element(html, "h1", _("That was not done"), NULL);
    dw_html_element(html, "p", words, "class", "lead", NULL);
    bool typed = dw_page_again(page, refusal);
    const char *back = dw_request_field(request, "back");
    if (again)
        dw_page_link(page, again, typed ? _("Start over") : _("Try again"));
    else if (*back == '/' && back[1] != '/' && !strpbrk(back, "\\?#:"))
        dw_page_link(page, back, _("Back"));
    else
        dw_page_link(page, "/", _("To the board"));
    return dw_page_end(page);
}

static const char *const verdict_words[] = {
    [DW_VERDICT_NONE] = "",
    [DW_VERDICT_GOOD] = N_("Good"),
    [DW_VERDICT_SERVICEABLE] = N_("Serviceable"),
    [DW_VERDICT_CANNOT_TELL] = N_("Cannot tell"),
    [DW_VERDICT_ATTENTION] = N_("Attention soon"),
    [DW_VERDICT_REPLACE] = N_("Replace"),
    [DW_VERDICT_UNSAFE] = N_("Unsafe"),
    [DW_VERDICT_NOT_TESTED] = N_("Not tested"),
};
static const char *const verdict_marks[] = {
    [DW_VERDICT_NONE] = "none",        [DW_VERDICT_GOOD] = "good",           [DW_VERDICT_SERVICEABLE] = "serviceable",
    [DW_VERDICT_CANNOT_TELL] = "open", [DW_VERDICT_ATTENTION] = "attention", [DW_VERDICT_REPLACE] = "replace",
    [DW_VERDICT_UNSAFE] = "unsafe",    [DW_VERDICT_NOT_TESTED] = "untested",
};

void dw_page_verdict(DwPage *page, DwVerdict verdict)
{
    if (verdict == DW_VERDICT_NONE)
        return;
    DwHtml *html = page->html;
    char mark[32];
    snprintf(mark, sizeof mark, "mark %s", verdict_marks[verdict]);
    dw_html_open(html, "span", "class", "verdict", NULL);
    dw_html_element(html, "span", "", "class", mark, "aria-hidden", "true", NULL);
    dw_html_text(html, " ");
    dw_html_text(html, dw_words(verdict_words[verdict]));
    dw_html_close(html, "span");
}

void dw_page_caution(DwPage *page, const char *words)
{
    DwHtml *html = page->html;
    dw_html_open(html, "p", "class", "caution", NULL);
    dw_html_element(html, "strong", _("Caution"), NULL);
    dw_html_text(html, " ");
    dw_html_text(html, words);
    dw_html_close(html, "p");
}

void dw_page_words(DwPage *page, const char *words, const char *id, const char *look, bool alert)
{
    char *plain = dw_quantity_words(words), *veiled = dw_veil(page->request, plain);
    free(plain);
    dw_html_element(page->html, "p", veiled, "id", id ? id : DW_HTML_NONE, "class", look, "role",
                    alert ? "alert" : DW_HTML_NONE, NULL);
    free(veiled);
}

void dw_page_remark(DwPage *page, const char *words)
{
    dw_page_words(page, words, NULL, "remark", false);
}

void dw_page_link(DwPage *page, const char *path, const char *words)
{
    dw_html_element(page->html, "a", words, "href", path, "class", "button", NULL);
}

DwMomentWords dw_page_moment(const char *moment)
{
    DwMomentWords words = {""};
    char clock[DW_CLOCK_SIZE];
    dw_moment_clock(moment, clock);
    if (*clock)
        snprintf(words.text, sizeof words.text, "%.10s %s", clock, clock + 11);
    return words;
}
