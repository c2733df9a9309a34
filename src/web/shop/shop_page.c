// SPDX-License-Identifier: MIT
// The shop's own room: settings, who comes in, copies of the book, and what this
// program is made of.
#include "web/page/page.h"
#include "web/server/words.h"
#include "web/shop/pages.h"

#include <string.h>

typedef struct {
    const char *path;
    const char *title;
    const char *help;
} Door;

static const Door doors[] = {
    {"/shop/settings", N_("Settings"), N_("Name, address, logo and terms; papers, warranty, periods")},
    {"/shop/settings?at=money", N_("Prices and rates"), N_("Currency, tax, labour, charges")},
    {"/shop/months", N_("Months"), N_("What was invoiced and paid, as tables for the book-keeping")},
    {"/book/bound", N_("The shop's own limits"), N_("What a class of deck is measured against")},
    {"/book/test_record", N_("Test records"), N_("The records you measure with")},
    {"/book/instrument", N_("Instruments"), N_("With their checks")},
    {"/book/chain", N_("Chains"), N_("From cartridge to sound card, for comparable numbers")},
    {"/shop/people", N_("People"), N_("Who works here, and what each may do")},
    {"/shop/devices", N_("Paired devices"), N_("Tablets and telephones that may come in")},
    {"/shop/pair", N_("Pair a device"), N_("With a code to scan")},
    {"/shop/app", N_("As an app"), N_("The bench on a tablet's home screen")},
    {"/shop/password", N_("Password"), N_("For devices that are not paired")},
    {"/shop/backup", N_("Backup and check"), N_("Copy the book to another disk; see whether it is sound")},
    {"/shop/about", N_("About"), N_("Version, and the libraries it is made with")},
};

typedef struct {
    const char *name;
    const char *purpose;
    const char *licence;
} Library;

// As their packages' copyright files say.
static const Library libraries[] = {
    {"Avahi", N_("the bench's name in the network"), "LGPL-2.1+"},
    {"Cairo", N_("drawings"), "LGPL-2.1 / MPL-1.1"},
    {"FFTW", N_("spectra"), "GPL-2+"},
    {"gdk-pixbuf", N_("photographs"), "LGPL-2.1+"},
    {"GnuTLS", N_("encryption"), "LGPL-2.1+"},
    {"GSL", N_("fits and roots"), "GPL-3+"},
    {"GStreamer", N_("sound from recordings and sound cards"), "LGPL-2.1+"},
    {"inih", N_("key files"), "BSD-3-Clause"},
    {"Jansson", N_("JSON"), "MIT"},
    {"libmicrohttpd", N_("the web bench"), "LGPL-2.1+"},
    {"libqrencode", N_("QR codes"), "LGPL-2.1+"},
    {"libsndfile", N_("sound files"), "LGPL-2.1+"},
    {"libsodium", N_("passwords and tokens"), "ISC"},
    {"Pango", N_("lettering"), "LGPL-2+"},
    {"SQLite", N_("the job book"), N_("public domain")},
};

static void write_type_form(DwPage *page)
{
    DwHtml *html = page->html;
    dw_html_element(html, "h2", _("Type on this device"), NULL);
    dw_html_element(
        html, "p",
        page->request->large_type ? _("Large, for a screen across the bench.") : _("Usual, for arm's length."), NULL);
    dw_form_begin(page, "/shop/type", false);
    dw_html_void(html, "input", "type", "hidden", "name", "size", "value",
                 page->request->large_type ? "usual" : "large", NULL);
    dw_html_element(html, "button", page->request->large_type ? _("Usual type") : _("Large type"), "type", "submit",
                    "class", "second", NULL);
    dw_form_end(page);
}

static void write_leave_form(DwPage *page)
{
    dw_html_element(page->html, "h2", _("Leave"), NULL);
    dw_html_open(page->html, "p", NULL);
    dw_html_format(page->html, _("This device is known as %s. Once it has left it must be paired anew."),
                   page->request->device);
    dw_html_close(page->html, "p");
    dw_form_begin(page, "/leave", false);
    dw_html_element(page->html, "button", _("Leave the shop"), "type", "submit", "class", "danger", NULL);
    dw_form_end(page);
}

static DwAnswer show_shop(const DwWebRequest *request)
{
    DwPage *page = dw_page_begin(request, &(DwPageHead){.title = _("Shop"), .room = DW_ROOM_SHOP, .style = "shop.css"});
    DwHtml *html = page->html;
    dw_html_element(html, "h1", _("Shop"), NULL);
    dw_html_open(html, "ul", "class", "cards", NULL);
    for (size_t i = 0; i < sizeof doors / sizeof *doors; i++) {
        dw_html_open(html, "li", NULL);
        dw_html_open(html, "a", "href", doors[i].path, "class", "card", NULL);
        dw_html_element(html, "strong", dw_words(doors[i].title), NULL);
        dw_html_element(html, "span", dw_words(doors[i].help), "class", "quiet", NULL);
        dw_html_close(html, "a");
        dw_html_close(html, "li");
    }
    dw_html_close(html, "ul");
    write_type_form(page);
    if (request->device_id)
        write_leave_form(page);
    return dw_page_end(page);
}

static DwAnswer set_type(const DwWebRequest *request)
{
    enum { YEAR_SECONDS = 31536000 };
    const char *size = dw_request_field(request, "size");
    if (strcmp(size, "large") != 0 && strcmp(size, "usual") != 0)
        return dw_answer_refusal(400, _("Type is large or usual. Nothing was changed."));
    DwAnswer answer = dw_answer_kept(_("Kept."), "/shop");
    dw_answer_cookie(&answer, "deckwright_type", size, YEAR_SECONDS, request->secure);
    return answer;
}

static void write_library(DwHtml *html, const Library *library)
{
    dw_html_open(html, "tr", NULL);
    dw_html_element(html, "th", library->name, "scope", "row", NULL);
    dw_html_element(html, "td", dw_words(library->purpose), NULL);
    dw_html_element(html, "td", dw_words(library->licence), NULL);
    dw_html_close(html, "tr");
}

static DwAnswer show_about(const DwWebRequest *request)
{
    static const char *const heads[] = {N_("Library"), N_("For"), N_("Licence")};
    DwPage *page = dw_page_begin(request, &(DwPageHead){.title = _("About"), .room = DW_ROOM_SHOP});
    DwHtml *html = page->html;
    dw_html_element(html, "h1", "Deckwright " DW_VERSION, NULL);
    dw_html_element(html, "p", _("The bench tool of whoever services record-playing turntables. MIT licence."), NULL);
    dw_html_open(html, "div", "class", "scroll", "tabindex", "0", "role", "region", "aria-label", _("Libraries"), NULL);
    dw_html_open(html, "table", NULL);
    dw_html_element(html, "caption", _("Made with"), NULL);
    dw_html_open(html, "thead", NULL);
    dw_html_open(html, "tr", NULL);
    for (size_t i = 0; i < sizeof heads / sizeof *heads; i++)
        dw_html_element(html, "th", dw_words(heads[i]), "scope", "col", NULL);
    dw_html_close(html, "tr");
    dw_html_close(html, "thead");
    dw_html_open(html, "tbody", NULL);
    for (size_t i = 0; i < sizeof libraries / sizeof *libraries; i++)
        write_library(html, &libraries[i]);
    dw_html_close(html, "tbody");
    dw_html_close(html, "table");
    dw_html_close(html, "div");
    return dw_page_end(page);
}

const DwWebRoute dw_routes_shop[] = {
    {"GET", "/shop", show_shop, .open = false},
    {"POST", "/shop/type", set_type, .open = false},
    {"GET", "/shop/about", show_about, .open = false},
    {0},
};
