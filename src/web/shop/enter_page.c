// SPDX-License-Identifier: MIT
// The door: a device shows the shop's password, or a code from a screen that is
// known already, and is paired; and it leaves again.
#include "base/text.h"
#include "book/shop/device.h"
#include "web/page/page.h"
#include "web/server/gate.h"
#include "web/server/password.h"
#include "web/server/person.h"
#include "web/server/words.h"
#include "web/shop/pages.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// Where the device goes to once it is in: a page of ours or the board.
static const char *wanted(const DwWebRequest *request, const char *path)
{
    return dw_gate_is_page(request, path) ? path : "/";
}

static const char *likely_name(const DwWebRequest *request)
{
    return strstr(dw_request_header(request, "User-Agent"), "Mobi") ? _("Telephone") : _("Screen");
}

static void write_name_field(DwPage *page)
{
    const char *given = dw_request_field(page->request, "device");
    dw_form_text(page, "device", _("Name of this device"), *given ? given : likely_name(page->request), "text",
                 _("What it does is noted under this name, and under this name it can be removed."));
}

static void write_password_form(DwPage *page, const char *to)
{
    DwHtml *html = page->html;
    dw_form_begin(page, "/enter", false);
    dw_html_void(html, "input", "type", "hidden", "name", "to", "value", to, NULL);
    dw_form_text(page, "password", _("The shop's password"), "", "password", NULL);
    write_name_field(page);
    dw_form_button(page, _("Enter"));
    dw_form_end(page);
    dw_html_element(html, "p",
                    _("Or, on a screen that is in already, open Shop, Pair a device, and scan the code it shows."),
                    "class", "quiet", NULL);
}

static DwAnswer show_door(const DwWebRequest *request)
{
    const char *to = wanted(request, dw_request_query(request, "to"));
    if (request->known)
        return dw_answer_go("%s", to);
    DwPage *page =
        dw_page_begin(request, &(DwPageHead){.title = _("Enter"), .room = DW_ROOM_NONE, .style = "shop.css"});
    DwHtml *html = page->html;
    dw_html_element(html, "h1", _("Enter the shop's bench"), NULL);
    if (dw_password_is_set(request->book))
        write_password_form(page, to);
    else
        dw_html_element(html, "p",
                        _("The book has no password yet. Set one at the bench computer: Shop, Password, or 'deckwright "
                          "bench password' in a terminal."),
                        NULL);
    return dw_page_end(page);
}

static DwAnswer refuse_password(const char *to, unsigned status, const char *words)
{
    char *door = strcmp(to, "/") == 0 ? dw_text_format("/enter") : dw_text_format("/enter?to=%s", to);
    DwAnswer answer = dw_answer_refusal_at(door, status, words);
    free(door);
    return answer;
}

static DwAnswer ask_to_wait(const char *to, unsigned seconds)
{
    char number[16];
    snprintf(number, sizeof number, "%u", seconds);
    char *words = dw_text_format(dw_words_count("Too many wrong passwords. Wait %u second, then try again.",
                                                "Too many wrong passwords. Wait %u seconds, then try again.", seconds),
                                 seconds);
    DwAnswer answer = refuse_password(to, 429, words);
    dw_answer_tell(&answer, "Retry-After", number);
    free(words);
    return answer;
}

static DwAnswer pair(const DwWebRequest *request, const char *to)
{
    const char *name = dw_request_field(request, "device");
    char device[sizeof request->device];
    name = *name ? name : likely_name(request);
    snprintf(device, sizeof device, "%.*s", dw_text_whole(name, 60), name);
    dw_people_read(request->book, request->people);
    dw_person_name_device(request, device);
    return dw_gate_pair(request, device, to);
}

static DwAnswer enter(const DwWebRequest *request)
{
    const char *to = wanted(request, dw_request_field(request, "to"));
    if (request->known)
        return dw_answer_go("%s", to);
    bool right;
    unsigned wait = dw_access_try(dw_gate_access(request), request->book, dw_gate_who(request),
                                  dw_request_field(request, "password"), &right);
    if (wait)
        return ask_to_wait(to, wait);
    if (!right)
        return refuse_password(to, 403, _("That is not the shop's password."));
    return pair(request, to);
}

static DwAnswer leave(const DwWebRequest *request)
{
    if (!request->device_id)
        return dw_answer_refusal(400, _("The bench computer itself needs no password and cannot leave."));
    DwMessage message;
    DwStatus status = dw_device_revoke(request->book, request->device_id, &message);
    if (status != DW_OK)
        return dw_answer_trouble(status, &message);
    char token[65];
    dw_access_token(token);
    DwAnswer answer = dw_answer_go("/enter");
    dw_answer_session(&answer, token, 0);
    return answer;
}

static DwAnswer refuse_code(void)
{
    return dw_answer_refusal(
        410, _("This code was used already, or is older than ten minutes. Show a new one: Shop, Pair a device."));
}

static DwAnswer show_pairing(const DwWebRequest *request)
{
    char target[DW_ACCESS_TARGET];
    if (!dw_access_code_holds(dw_gate_access(request), dw_request_path(request, "code"), target))
        return refuse_code();
    if (request->known)
        return dw_answer_go("%s", target);
    char action[64];
    snprintf(action, sizeof action, "/pair/%.40s", dw_request_path(request, "code"));
    DwPage *page = dw_page_begin(
        request, &(DwPageHead){.title = _("Pair"), .room = DW_ROOM_NONE, .plain = true, .style = "shop.css"});
    DwHtml *html = page->html;
    dw_html_element(html, "h1", _("Pair this device with the shop"), NULL);
    dw_form_begin(page, action, false);
    write_name_field(page);
    dw_form_button(page, _("Pair this device"));
    dw_form_end(page);
    return dw_page_end(page);
}

static DwAnswer use_pairing(const DwWebRequest *request)
{
    char target[DW_ACCESS_TARGET];
    if (!dw_access_code_use(dw_gate_access(request), dw_request_path(request, "code"), target))
        return refuse_code();
    if (request->known)
        return dw_answer_go("%s", target);
    return pair(request, target);
}

const DwWebRoute dw_routes_enter[] = {
    {"GET", "/enter", show_door, .open = true},         {"POST", "/enter", enter, .open = true},
    {"POST", "/leave", leave, .open = false},           {"GET", "/pair/:code", show_pairing, .open = true},
    {"POST", "/pair/:code", use_pairing, .open = true}, {0},
};
