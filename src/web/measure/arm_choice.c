// SPDX-License-Identifier: MIT
#include "base/arm_key.h"
#include "base/memory.h"
#include "base/text.h"
#include "book/shop/deck.h"
#include "web/measure/measure_form.h"
#include "web/page/page.h"
#include "web/server/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

// A form that only chooses: the browser puts the name into the address.
static void begin_choice(DwPage *page, const DwMeasureForm *form)
{
    DwHtml *html = page->html;
    char *action = dw_text_format("/measure/%s", form->procedure->name),
         *job = dw_text_format("%04lld", (long long)form->job.number);
    dw_html_open(html, "form", "method", "get", "action", action, NULL);
    dw_html_void(html, "input", "type", "hidden", "name", "job", "value", job, NULL);
    if (*form->as)
        dw_html_void(html, "input", "type", "hidden", "name", "as", "value", form->as, NULL);
    free(action);
    free(job);
}

static void write_arm(DwPage *page, const DwMeasureForm *form, const char *arm, const char *words)
{
    bool chosen = strcasecmp(arm, form->arm) == 0;
    begin_choice(page, form);
    if (*arm)
        dw_html_void(page->html, "input", "type", "hidden", "name", DW_MEASURE_ARM, "value", arm, NULL);
    dw_html_element(page->html, "button", words, "type", "submit", "class", "second", "aria-current",
                    chosen ? "true" : DW_HTML_NONE, NULL);
    dw_html_close(page->html, "form");
}

static void write_other(DwPage *page, const DwMeasureForm *form)
{
    DwHtml *html = page->html;
    dw_html_open(html, "details", NULL);
    dw_html_element(html, "summary", _("Another arm or wand"), NULL);
    begin_choice(page, form);
    dw_html_open(html, "div", "class", "fields", NULL);
    dw_form_text(page, DW_MEASURE_ARM, _("Its name"), "", "text",
                 _("Such as rear, or 12-inch: letters, digits and hyphens. What is kept under it stays with it."));
    dw_html_close(html, "div");
    dw_html_element(html, "button", _("Fill in for this one"), "type", "submit", "class", "second", NULL);
    dw_html_close(html, "form");
    dw_html_close(html, "details");
}

void dw_arm_choice_write(DwPage *page, const DwMeasureForm *form)
{
    char *names = NULL;
    DwMessage message;
    if (!form->has_job || !form->job.deck_id || !dw_procedure_takes(form->procedure, DW_MEASURE_ARM) ||
        dw_deck_arms(page->request->book, form->job.deck_id, &names, &message) != DW_OK)
        return;
    DwHtml *html = page->html;
    bool listed = !*form->arm;
    dw_html_open(html, "nav", "class", "acts phases", "aria-label", _("Which arm"), NULL);
    if (*names || *form->arm)
        write_arm(page, form, "", _("The deck’s own arm"));
    for (char *rest = names, *arm; *names && (arm = strsep(&rest, "\n"));) {
        write_arm(page, form, arm, arm);
        listed = listed || strcasecmp(arm, form->arm) == 0;
    }
    if (!listed)
        write_arm(page, form, form->arm, form->arm);
    write_other(page, form);
    dw_html_close(html, "nav");
    free(names);
}
