// SPDX-License-Identifier: MIT
// The door: a device shows the shop's password, or a code from a screen that is
// known already, and is paired; and it leaves again.
#include "base/text.h"
#include "book/shop/device.h"
#include "web/page/page.h"
#include "web/server/password.h"
#include "web/server/private.h"
#include "web/page/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// Where the device goes to once it is in: a page of ours or the board.
static const char *wanted(const char *path)
{
    return dw_guard_is_page(path) ? path : "/";
}

static const char *likely_name(const DwVisit *visit)
{
    return strstr(dw_visit_header(visit, "User-Agent"), "Mobi") ? _("Telephone") : _("Screen");
}

static void write_name_field(DwVisit *visit)
{
    const char *given = dw_visit_field(visit, "device");
    dw_form_text(visit, "device", _("Name of this device"), *given ? given : likely_name(visit), "text",
                 _("What it does is noted under this name, and under this name it can be sent away."));
}

static void write_door(DwVisit *visit, unsigned status, const char *to, const char *trouble)
{
    DwHtml *html = dw_page_begin(
        visit, &(DwPage){.title = _("Enter"), .room = DW_ROOM_NONE, .status = status, .style = "shop.css"});
    dw_html_element(html, "h1", _("Enter the shop's bench"), NULL);
    if (trouble)
        dw_page_remark(visit, trouble);
    if (!dw_password_is_set(visit->book)) {
        dw_html_element(html, "p",
                        _("The book has no password yet. Set one at the bench computer: Shop, Password, or 'deckwright "
                          "bench password' in a terminal."),
                        NULL);
        dw_page_end(visit);
        return;
    }
    dw_form_begin(visit, "/enter", false);
    dw_html_void(html, "input", "type", "hidden", "name", "to", "value", to, NULL);
    dw_form_text(visit, "password", _("The shop's password"), "", "password", NULL);
    write_name_field(visit);
    dw_form_button(visit, _("Enter"));
    dw_form_end(visit);
    dw_html_element(html, "p",
                    _("Or, on a screen that is in already, open Shop, Pair a device, and scan the code it shows."),
                    "class", "quiet", NULL);
    dw_page_end(visit);
}

static void show_door(DwVisit *visit)
{
    const char *to = wanted(dw_visit_query(visit, "to"));
    if (visit->known)
        dw_visit_go(visit, "%s", to);
    else
        write_door(visit, 200, to, NULL);
}

static void ask_to_wait(DwVisit *visit, const char *to, unsigned seconds)
{
    char number[16];
    snprintf(number, sizeof number, "%u", seconds);
    dw_visit_tell(visit, "Retry-After", number);
    char *words = dw_text_format(dw_words_count("Too many wrong passwords. Wait %u second, then try again.",
                                                "Too many wrong passwords. Wait %u seconds, then try again.", seconds),
                                 seconds);
    write_door(visit, 429, to, words);
    free(words);
}

static void pair(DwVisit *visit, const char *to)
{
    const char *name = dw_visit_field(visit, "device");
    DwMessage message;
    name = *name ? name : likely_name(visit);
    snprintf(visit->device, sizeof visit->device, "%.*s", dw_text_whole(name, 60), name);
    dw_book_set_actor(visit->book, visit->device);
    DwStatus status = dw_guard_pair(visit, visit->device, &message);
    if (status == DW_OK)
        dw_visit_go(visit, "%s", to);
    else
        dw_visit_trouble(visit, status, &message);
}

static void enter(DwVisit *visit)
{
    const char *to = wanted(dw_visit_field(visit, "to"));
    if (visit->known) {
        dw_visit_go(visit, "%s", to);
        return;
    }
    bool right;
    unsigned wait = dw_access_try(visit->server->access, visit->book, dw_guard_who(visit),
                                  dw_visit_field(visit, "password"), &right);
    if (wait)
        ask_to_wait(visit, to, wait);
    else if (!right)
        write_door(visit, 403, to, _("That is not the shop's password."));
    else
        pair(visit, to);
}

static void leave(DwVisit *visit)
{
    if (!visit->device_id) {
        dw_visit_refuse(visit, 400, _("The bench computer itself needs no password and cannot leave."));
        return;
    }
    DwMessage message;
    DwStatus status = dw_device_revoke(visit->book, visit->device_id, &message);
    if (status != DW_OK) {
        dw_visit_trouble(visit, status, &message);
        return;
    }
    char token[65];
    dw_access_token(token);
    dw_guard_give_session(visit, token, 0);
    dw_visit_go(visit, "/enter");
}

static void refuse_code(DwVisit *visit)
{
    dw_visit_refuse(
        visit, 410,
        _("This code was used already, or is older than ten minutes. Show a new one: Shop, Pair a device."));
}

static void show_pairing(DwVisit *visit)
{
    char target[DW_ACCESS_TARGET];
    if (!dw_access_code_holds(visit->server->access, dw_visit_path(visit, "code"), target)) {
        refuse_code(visit);
        return;
    }
    if (visit->known) {
        dw_visit_go(visit, "%s", target);
        return;
    }
    char action[64];
    snprintf(action, sizeof action, "/pair/%.40s", dw_visit_path(visit, "code"));
    DwHtml *html =
        dw_page_begin(visit, &(DwPage){.title = _("Pair"), .room = DW_ROOM_NONE, .plain = true, .style = "shop.css"});
    dw_html_element(html, "h1", _("Pair this device with the shop"), NULL);
    dw_form_begin(visit, action, false);
    write_name_field(visit);
    dw_form_button(visit, _("Pair this device"));
    dw_form_end(visit);
    dw_page_end(visit);
}

static void use_pairing(DwVisit *visit)
{
    char target[DW_ACCESS_TARGET];
    if (!dw_access_code_use(visit->server->access, dw_visit_path(visit, "code"), target))
        refuse_code(visit);
    else if (visit->known)
        dw_visit_go(visit, "%s", target);
    else
        pair(visit, target);
}

const DwWebRoute dw_routes_enter[] = {
    {"GET", "/enter", show_door, .open = true},         {"POST", "/enter", enter, .open = true},
    {"POST", "/leave", leave, .open = false},           {"GET", "/pair/:code", show_pairing, .open = true},
    {"POST", "/pair/:code", use_pairing, .open = true}, {0},
};
