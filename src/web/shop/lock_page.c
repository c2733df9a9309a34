// SPDX-License-Identifier: MIT
// A screen handed to a customer: it shows one page, to read or to sign, and nothing
// else until the shop's password is typed.
#include "base/text.h"
#include "web/page/page.h"
#include "web/server/gate.h"
#include "web/server/password.h"
#include "web/server/words.h"
#include "web/shop/pages.h"

#include <stdlib.h>
#include <string.h>

static DwAnswer lock(const DwWebRequest *request)
{
    const char *address = dw_request_field(request, "to");
    if (!dw_password_is_set(request->book))
        return dw_answer_refusal(400,
                                 _("Set the shop's password first (Shop, Password): without one nobody could unlock "
                                   "the screen again."));
    DwAnswer answer = dw_answer_go("%s", address);
    if (dw_gate_lock(request, address, &answer))
        return answer;
    dw_answer_clear(&answer);
    return dw_answer_refusal(400, _("This page cannot be shown alone."));
}

static DwAnswer show_unlock(const DwWebRequest *request)
{
    char address[DW_ACCESS_TARGET];
    if (!dw_gate_locked(request, address))
        return dw_answer_go("/");
    DwPage *page = dw_page_begin(
        request, &(DwPageHead){.title = _("Unlock"), .room = DW_ROOM_NONE, .plain = true, .style = "shop.css"});
    dw_html_element(page->html, "h1", _("This screen shows one page only"), NULL);
    dw_form_begin(page, "/unlock", false);
    dw_form_text(page, "password", _("The shop's password"), "", "password", NULL);
    dw_html_open(page->html, "div", "class", "acts", NULL);
    dw_form_button(page, _("Unlock"));
    dw_html_element(page->html, "a", _("Back"), "href", address, "class", "button second", NULL);
    dw_html_close(page->html, "div");
    dw_form_end(page);
    return dw_page_end(page);
}

static DwAnswer unlock(const DwWebRequest *request)
{
    bool right;
    unsigned wait = dw_access_try(dw_gate_access(request), request->book, dw_gate_who(request),
                                  dw_request_field(request, "password"), &right);
    if (wait)
        return dw_answer_refusal_at("/unlock", 429, _("Too many wrong passwords. Wait a little, then try again."));
    if (!right)
        return dw_answer_refusal_at("/unlock", 403, _("That is not the shop's password."));
    DwAnswer answer = dw_answer_go("/");
    dw_gate_unlock(request, &answer);
    return answer;
}

const DwWebRoute dw_routes_lock[] = {
    {"POST", "/lock", lock, false},
    {"GET", "/unlock", show_unlock, false},
    {"POST", "/unlock", unlock, false},
    {0},
};
