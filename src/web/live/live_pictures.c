// SPDX-License-Identifier: MIT
// The pictures of the live page that its scripts draw (live-pictures.js): the drifting marks that a trimmer is
// turned by, the last ten minutes, the flutter by frequency.
#include "web/live/pages.h"
#include "web/server/words.h"

#include <stdio.h>
#include <stdlib.h>

void dw_live_pictures_needle(DwPage *page, unsigned place)
{
    DwHtml *html = page->html;
    dw_html_open(html, "div", "class", "needle only-scripted", "id", dw_live_id(place, "needle").text, NULL);
    dw_html_element(html, "canvas", "", "aria-hidden", "true", NULL);
    dw_html_element(html, "p", "", "class", "said", "data-part", "drift", NULL);
    dw_html_close(html, "div");
}

void dw_live_pictures_large(DwPage *page, const char *what)
{
    dw_html_element(page->html, "button", _("Large"), "type", "button", "class", "second only-scripted enlarge",
                    "aria-label", what, NULL);
}

static void open_picture(DwPage *page, unsigned place, const char *name, const char *head)
{
    DwHtml *html = page->html;
    char id[24];
    snprintf(id, sizeof id, "%s-head", name);
    dw_html_open(html, "section", "class", "picture only-scripted", "id", dw_live_id(place, name).text,
                 "aria-labelledby", dw_live_id(place, id).text, NULL);
    dw_html_element(html, "h2", head, "id", dw_live_id(place, id).text, NULL);
}

static void write_canvas(DwPage *page, const char *words)
{
    dw_html_element(page->html, "canvas", "", "role", "img", "aria-label", words, NULL);
}

static void write_course(DwPage *page, unsigned place)
{
    DwHtml *html = page->html;
    open_picture(page, place, "course", _("The last ten minutes"));
    write_canvas(page, _("Nothing was heard yet."));
    dw_html_open(html, "p", "class", "raster-foot quiet", "aria-hidden", "true", NULL);
    dw_html_element(html, "span", _("10 minutes ago"), NULL);
    dw_html_element(html, "span", _("now"), "class", "end", NULL);
    dw_html_close(html, "p");
    dw_html_element(html, "p", "", "class", "said", "data-part", "said", NULL);
    dw_live_pictures_large(page, _("Show the last ten minutes large"));
    dw_html_close(html, "section");
}

static void write_spectrum(DwPage *page, unsigned place, const DwLiveBefore *before)
{
    DwHtml *html = page->html;
    char *was = dw_live_before_spectrum(before);
    open_picture(page, place, "spectrum", _("Flutter by frequency"));
    dw_html_element(html, "canvas", "", "role", "img", "aria-label", _("Nothing was heard yet."), "data-before",
                    was ? was : "", NULL);
    dw_html_element(html, "p",
                    _("Hz across, per cent up. Marks above: what turns how fast in the drive, as described."), "class",
                    "quiet", NULL);
    if (was)
        dw_html_element(html, "p", _("Dashed: as received."), "class", "quiet", NULL);
    dw_html_element(html, "ol", "", "class", "lines", "data-part", "lines", NULL);
    dw_live_pictures_large(page, _("Show the flutter by frequency large"));
    dw_html_close(html, "section");
    free(was);
}

void dw_live_pictures_write(DwPage *page, unsigned place, const DwLiveBefore *before)
{
    write_spectrum(page, place, before);
    write_course(page, place);
}
