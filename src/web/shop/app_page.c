// SPDX-License-Identifier: MIT
// The bench as an app of a tablet: what it takes, and the page that it shows where the bench is not reached.
#include "web/page/page.h"
#include "web/server/words.h"
#include "web/shop/pages.h"

static DwAnswer show_offline(const DwWebRequest *request)
{
    DwPage *page = dw_page_begin(request, &(DwPageHead){.title = _("The bench is not reached"),
                                                        .room = DW_ROOM_NONE,
                                                        .plain = true,
                                                        .style = "shop.css",
                                                        .script = "offline.js"});
    DwHtml *html = page->html;
    dw_html_element(html, "h1", _("The bench is not reached"), NULL);
    dw_html_element(html, "p",
                    _("The bench computer is off, or this device is out of the shop's network. Nothing is kept "
                      "meanwhile. What you had typed into a form is still on this device and stands there again."),
                    "class", "lead", "id", "offline", "role", "status", "data-there",
                    _("The bench is there again. What you had typed into a form stands there again."), NULL);
    dw_html_open(html, "p", "class", "acts", NULL);
    dw_html_element(html, "a", _("Try again"), "href", "/", "class", "button", "id", "again", NULL);
    dw_html_close(html, "p");
    return dw_page_end(page);
}

static DwAnswer show_app(const DwWebRequest *request)
{
    DwPage *page = dw_page_begin(request, &(DwPageHead){.title = _("The bench as an app"), .room = DW_ROOM_SHOP});
    DwHtml *html = page->html;
    dw_html_element(html, "h1", _("The bench as an app"), NULL);
    dw_html_element(html, "p",
                    _("In the browser's menu choose Install, or Add to home screen: the bench then opens in a window "
                      "of its own, with its own mark."),
                    NULL);
    bool kept = request->secure || request->local;
    dw_html_element(
        html, "p",
        kept ? _("When the bench is not reached, the app says so and goes on by itself once it is. Nothing of the book "
                 "is kept on the device.")
             : _("This device came without the shop's certificate, so its browser keeps no page: when the bench is not "
                 "reached it shows words of its own. Start the bench with a certificate, and the app says it itself."),
        "class", "lead", "id", "offline-shell", NULL);
    dw_html_open(html, "p", "class", "acts", NULL);
    dw_html_element(html, "a", _("Shop"), "href", "/shop", "class", "button second", NULL);
    dw_html_close(html, "p");
    return dw_page_end(page);
}

const DwWebRoute dw_routes_app[] = {
    {"GET", "/offline", show_offline, .open = true},
    {"GET", "/shop/app", show_app, .open = false},
    {0},
};
