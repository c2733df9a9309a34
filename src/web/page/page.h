// SPDX-License-Identifier: MIT
// The frame of every page: head, the rooms of the bench, the main part, foot.
// Forms are made here too, so that none goes without its form token.
#ifndef DW_WEB_PAGE_H
#define DW_WEB_PAGE_H

#include "base/sheet.h"
#include "web/page/html.h"
#include "web/server/answer.h"
#include "web/server/request.h"

typedef enum {
    DW_ROOM_BOARD,
    DW_ROOM_MEASURE,
    DW_ROOM_LIVE,
    DW_ROOM_BOOK,
    DW_ROOM_SHOP,
    DW_ROOM_NONE, // before a device is known
} DwRoom;

// What a page begins with.
typedef struct {
    const char *title;  // of the window
    const char *style;  // a further style sheet in data/web, such as "job.css", or NULL
    const char *first;  // a script that the next one builds on, or NULL
    const char *script; // a script in data/web, such as "live.js", or NULL
    DwRoom room;
    unsigned status;  // HTTP's; 0 is 200
    bool plain;       // without the rooms and the search field: for a phone's one act
    const char *help; // the measurement whose page of the handbook is its help, or NULL for the handbook
} DwPageHead;

// A page being written, the answer to REQUEST.
typedef struct {
    const DwWebRequest *request;
    DwHtml *html;
    unsigned status;
    unsigned fields; // of its forms so far, for their ids
    char help[160];  // where its help stands; "" for none
    char once[33];   // what makes each act of its forms one (server/once.h); "" until one is written
    char part[40];   // what leads back to the part of it that is open, "at=findings", or ""
} DwPage;

// Begins the page; what is written into its HTML stands in <main>. The page gives
// <main> no heading: write the <h1>. The caller ends it with dw_page_end().
DwPage *dw_page_begin(const DwWebRequest *request, const DwPageHead *head);
// PATH with the part of the page that is open and MORE ("open=finding-3", or ""). The caller frees it with free().
char *dw_page_here(const DwPage *page, const char *path, const char *more);
// Ends and frees it: what was written is the answer.
DwAnswer dw_page_end(DwPage *page);
// The page that says that something was not done, for the reason WORDS, of REFUSAL.
DwAnswer dw_page_refusal(const DwWebRequest *request, const DwAnswer *refusal, const char *words);
// Writes the form that was sent to PAGE's request with what was typed into it, to be put right and sent again; neither
// passwords nor files, which are to be chosen again. False, and nothing is written, where nothing was typed or the form
// was none of this bench. Where REFUSAL says that another changed it, it is sent again over what the other wrote.
bool dw_page_again(DwPage *page, const DwAnswer *refusal);

// A form that posts to ACTION. With KEEP each field is sent as soon as it was
// changed (bench.js), and the button is for browsers without the script.
void dw_form_begin(DwPage *page, const char *action, bool keep);
// PAGE's forms, none of which is written yet, carry the word of the form that was sent: it comes again, to be put right
// or to be sure of. What the browser noted of it is then done with once either was taken.
void dw_form_once_more(DwPage *page);
// The same that can carry files.
void dw_form_begin_files(DwPage *page, const char *action);
void dw_form_end(DwPage *page);
// A button that posts the form it stands in.
void dw_form_button(DwPage *page, const char *words);
// A labelled line of text. HELP may be NULL; TYPE is HTML's ("text", "date" …); of
// "number" it is a text for which a telephone shows its figures.
void dw_form_text(DwPage *page, const char *name, const char *label, const char *value, const char *type,
                  const char *help);
void dw_form_area(DwPage *page, const char *name, const char *label, const char *value, const char *help);
void dw_form_tick(DwPage *page, const char *name, const char *label, bool ticked);
// One of COUNT words; VALUES are what is sent (NULL: the words themselves).
void dw_form_choice(DwPage *page, const char *name, const char *label, const char *const *words,
                    const char *const *values, size_t count, const char *chosen, const char *help);

// A button that locks this screen to the page ADDRESS, until the shop's password is typed.
void dw_page_hand_over(DwPage *page, const char *address);
// VERDICT's mark (its shape) and its word.
void dw_page_verdict(DwPage *page, DwVerdict verdict);
// A boxed caution, with its word.
void dw_page_caution(DwPage *page, const char *words);
// A paragraph of what the program says, without the paths that a device is not told
// (dw_veil()); ID may be NULL; ALERT has a screen reader say it at once.
void dw_page_words(DwPage *page, const char *words, const char *id, const char *look, bool alert);
// MOMENT of the book by the shop's own clock, "2026-11-25 14:05".
typedef struct {
    char text[20];
} DwMomentWords;
DwMomentWords dw_page_moment(const char *moment);

// A remark that something must be looked at, or that all is well.
void dw_page_remark(DwPage *page, const char *words);
// A link that looks like a button.
void dw_page_link(DwPage *page, const char *path, const char *words);

#endif
