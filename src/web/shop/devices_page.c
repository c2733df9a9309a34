// SPDX-License-Identifier: MIT
// Who may come in from elsewhere: the paired devices, a code to pair one more,
// and the password.
#include "base/text.h"
#include "book/shop/device.h"
#include "chart/draw/code.h"
#include "web/page/page.h"
#include "web/server/gate.h"
#include "web/server/password.h"
#include "web/server/words.h"
#include "web/shop/pages.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// A moment of the book, to the minute: "2026-11-25 14:16 UTC".
static char *minute(const char *moment)
{
    return moment ? dw_text_format("%.10s %.5s UTC", moment, moment + 11) : dw_text_format("%s", _("not yet"));
}

static void write_device(DwPage *page, const DwDevice *device)
{
    DwHtml *html = page->html;
    char *paired = minute(device->paired_at), *seen = minute(device->last_seen_at), action[64];
    bool here = device->record.id == page->request->device_id;
    snprintf(action, sizeof action, "/shop/devices/%lld/revoke", (long long)device->record.id);
    dw_html_open(html, "li", "class", "card device", NULL);
    dw_html_open(html, "h2", NULL);
    dw_html_text(html, device->name);
    if (here)
        dw_html_element(html, "small", _("this device"), NULL);
    dw_html_close(html, "h2");
    dw_html_open(html, "p", "class", "quiet number", NULL);
    dw_html_format(html, _("Paired %s, last seen %s"), paired, seen);
    dw_html_close(html, "p");
    dw_form_begin(page, here ? "/leave" : action, false);
    dw_html_open(html, "button", "type", "submit", "class", "danger", NULL);
    if (here)
        dw_html_text(html, _("Leave the shop"));
    else
        dw_html_format(html, _("Send %s away"), device->name);
    dw_html_close(html, "button");
    dw_form_end(page);
    dw_html_close(html, "li");
    free(paired);
    free(seen);
}

static DwAnswer show_devices(const DwWebRequest *request)
{
    DwRecords devices;
    DwMessage message;
    DwStatus status = dw_device_list(request->book, &devices, &message);
    if (status != DW_OK)
        return dw_answer_trouble(status, &message);
    DwPage *page =
        dw_page_begin(request, &(DwPageHead){.title = _("Paired devices"), .room = DW_ROOM_SHOP, .style = "shop.css"});
    DwHtml *html = page->html;
    dw_html_element(html, "h1", _("Paired devices"), NULL);
    dw_html_element(
        html, "p",
        _("Each may do at the bench what this screen may. Send away what was lost or lent: it stops at once, "
          "and what it did stays noted."),
        NULL);
    dw_html_open(html, "ul", "class", "cards", NULL);
    for (size_t i = 0; i < devices.count; i++)
        write_device(page, (const DwDevice *)(const void *)dw_records_at(&devices, i));
    dw_html_close(html, "ul");
    if (devices.count == 0)
        dw_html_element(html, "p", _("None is paired: only the bench computer itself comes in."), "class", "lead",
                        NULL);
    dw_records_clear(&devices);
    dw_html_open(html, "p", "class", "acts", NULL);
    dw_page_link(page, "/shop/pair", _("Pair a device"));
    dw_html_element(html, "a", _("Password"), "href", "/shop/password", "class", "button second", NULL);
    dw_html_close(html, "p");
    return dw_page_end(page);
}

static DwAnswer send_away(const DwWebRequest *request)
{
    DwMessage message;
    DwStatus status = dw_device_revoke(request->book, dw_request_id(request, "number"), &message);
    if (status == DW_OK)
        return dw_answer_kept(_("The device was removed."), "/shop/devices");
    return dw_answer_trouble(status, &message);
}

static void write_code(DwPage *page, const char *address)
{
    DwHtml *html = page->html;
    DwCode *code = dw_code_new(address);
    if (code) {
        char *path = dw_code_path(code), box[32];
        snprintf(box, sizeof box, "0 0 %d %d", dw_code_modules(code), dw_code_modules(code));
        dw_html_open(html, "svg", "class", "code", "viewBox", box, "role", "img", "aria-label",
                     _("The same address as a QR code"), NULL);
        dw_html_element(html, "path", "", "d", path, NULL);
        dw_html_close(html, "svg");
        free(path);
        dw_code_free(code);
    }
    dw_html_open(html, "p", NULL);
    dw_html_text(html, _("Or open this address on it:"));
    dw_html_text(html, " ");
    dw_html_element(html, "code", address, "class", "address", NULL);
    dw_html_close(html, "p");
}

// By which name the shop's network finds the bench, or why it does not.
static void write_name(DwPage *page)
{
    DwHtml *html = page->html;
    char *called = dw_gate_called(page->request);
    dw_html_open(html, "p", "class", "quiet", "id", "called", NULL);
    if (called) {
        dw_html_text(html, _("By its name the shop's network finds the bench at"));
        dw_html_text(html, " ");
        dw_html_element(html, "code", called, "class", "address", NULL);
        dw_html_text(html, _(" (mDNS; most tablets and telephones understand it)."));
    } else
        dw_html_text(html, _("The shop's network knows the bench by its number only: on the bench computer no Avahi "
                             "runs that would tell its name."));
    dw_html_close(html, "p");
    free(called);
}

// What must be done before another device can reach the bench at all.
static void write_unreachable(DwPage *page)
{
    DwHtml *html = page->html;
    dw_html_element(html, "p", _("The bench listens to this computer alone, so no other device can reach it yet."),
                    "class", "lead", NULL);
    dw_html_open(html, "ol", NULL);
    dw_html_open(html, "li", NULL);
    if (dw_password_is_set(page->request->book))
        dw_html_text(html, _("The shop's password is set."));
    else
        dw_html_element(html, "a", _("Set the shop's password."), "href", "/shop/password", "class", "alone", NULL);
    dw_html_close(html, "li");
    dw_html_open(html, "li", NULL);
    dw_html_text(html, _("End the bench and start it again so that it listens to the shop's network:"));
    dw_html_text(html, " ");
    dw_html_element(html, "code", "deckwright bench listen=0.0.0.0", NULL);
    dw_html_close(html, "li");
    dw_html_element(html, "li", _("Open this page again and scan the code."), NULL);
    dw_html_close(html, "ol");
    dw_page_caution(page,
                    _("Let it listen to the shop's own network only, never to the internet. Without a certificate "
                      "of the shop whoever is in that network can read along."));
}

static DwAnswer show_pair(const DwWebRequest *request)
{
    const char *to = dw_request_query(request, "to");
    char code[DW_ACCESS_CODE_SIZE];
    char *place = dw_gate_outside(request);
    DwPage *page =
        dw_page_begin(request, &(DwPageHead){.title = _("Pair a device"), .room = DW_ROOM_SHOP, .style = "shop.css"});
    DwHtml *html = page->html;
    dw_html_element(html, "h1", _("Pair a device"), NULL);
    if (place) {
        dw_access_code_new(dw_gate_access(request), dw_gate_is_page(request, to) ? to : "/", code);
        char *address = dw_text_format("%s/pair/%s", place, code);
        dw_html_element(
            html, "p",
            _("Scan this with the telephone or tablet, which must be in the shop's network. It holds for one "
              "device and ten minutes."),
            NULL);
        write_code(page, address);
        write_name(page);
        free(address);
    } else
        write_unreachable(page);
    free(place);
    dw_html_open(html, "p", "class", "acts", NULL);
    dw_html_element(html, "a", _("Paired devices"), "href", "/shop/devices", "class", "button second", NULL);
    dw_html_close(html, "p");
    return dw_page_end(page);
}

static DwAnswer show_password(const DwWebRequest *request)
{
    DwPage *page =
        dw_page_begin(request, &(DwPageHead){.title = _("Password"), .room = DW_ROOM_SHOP, .style = "shop.css"});
    DwHtml *html = page->html;
    dw_html_element(html, "h1", _("Password"), NULL);
    dw_html_element(html, "p",
                    dw_password_is_set(request->book)
                        ? _("A device that is not paired shows this password once. Changing it sends no paired device "
                            "away: do that under Paired devices.")
                        : _("The book has no password yet. One is needed before the bench may listen to the network."),
                    NULL);
    dw_form_begin(page, "/shop/password", false);
    if (!request->local)
        dw_form_text(page, "current", _("The password until now"), "", "password", NULL);
    dw_form_text(page, "password", _("New password"), "", "password",
                 _("8 characters or more. A few words in a row are easy to keep in mind."));
    dw_form_text(page, "again", _("The new password again"), "", "password", NULL);
    dw_form_button(page, _("Keep the new password"));
    dw_form_end(page);
    return dw_page_end(page);
}

// At this computer the book lies open anyway; elsewhere the old password is asked,
// so that a telephone left on the counter does not shut the shop out.
static bool may_change(const DwWebRequest *request, DwAnswer *refusal)
{
    bool right = request->local;
    unsigned wait = right ? 0
                          : dw_access_try(dw_gate_access(request), request->book, dw_gate_who(request),
                                          dw_request_field(request, "current"), &right);
    if (wait)
        *refusal =
            dw_answer_refusal_at("/shop/password", 429, _("Too many wrong passwords. Wait a while, then try again."));
    else if (!right)
        *refusal =
            dw_answer_refusal_at("/shop/password", 403, _("That is not the password until now. Nothing was changed."));
    return right;
}

static DwAnswer set_password(const DwWebRequest *request)
{
    DwAnswer answer;
    DwMessage message;
    const char *password = dw_request_field(request, "password");
    if (strcmp(password, dw_request_field(request, "again")) != 0)
        return dw_answer_refusal_at("/shop/password", 400, _("The two new passwords differ. Nothing was changed."));
    if (!may_change(request, &answer))
        return answer;
    DwStatus status = dw_password_set(request->book, password, &message);
    if (status == DW_OK)
        return dw_answer_kept(_("The new password is kept."), "/shop/devices");
    return dw_answer_refusal_at("/shop/password", status == DW_BAD_INPUT ? 400 : 500, dw_message_said(&message));
}

const DwWebRoute dw_routes_devices[] = {
    {"GET", "/shop/devices", show_devices, .open = false},
    {"POST", "/shop/devices/:number/revoke", send_away, .open = false},
    {"GET", "/shop/pair", show_pair, .open = false},
    {"GET", "/shop/password", show_password, .open = false},
    {"POST", "/shop/password", set_password, .open = false},
    {0},
};
