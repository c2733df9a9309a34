// SPDX-License-Identifier: MIT
#include "web/job/guide_visit.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/shop/settings.h"
#include "guide/guide_sheet.h"
#include "procedure/job/job_guide.h"
#include "web/server/words.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { CAUSES_MOST = 5, CALLED_MOST = 3 };
static const double shown_least = 0.02, called_least = 0.1, confirmable = 0.5;

void dw_guide_view_cautions(DwPage *page, const DwGuideVisit *visit)
{
    const DwGuideCase *guide_case = &visit->guide_case;
    if (guide_case->unsafe) {
        char *words = dw_text_format(_("Unsafe: %s. Leave the deck unplugged until that is put right and tested."),
                                     guide_case->unsafe);
        dw_page_caution(page, words);
        free(words);
    }
    for (size_t i = 0; i < visit->knowledge->symptom_count; i++) {
        bool yes = guide_case->evidence[i].answer == DW_GUIDE_YES;
        if (yes && visit->knowledge->signs[i].caution)
            dw_page_caution(page, dw_words(visit->knowledge->signs[i].caution));
    }
    if (dw_guide_case_was_dangerous(guide_case))
        dw_page_caution(page, dw_words(dw_guide_after_danger));
    for (size_t i = 0; i < visit->knowledge->test_count; i++) {
        if (!dw_guide_case_keeps_unplugged(guide_case, i))
            continue;
        char *words = dw_text_format(_("Unplug the deck and leave it unplugged until this is passed: %s."),
                                     dw_words(visit->knowledge->tests[i].name));
        dw_page_caution(page, words);
        free(words);
    }
}

// --- odds ---------------------------------------------------------------------

// The chance of each fault before the answer that was given last; NULL where there was none. The caller frees it.
static double *chances_before(const DwGuideVisit *visit)
{
    DwGuideLast last = dw_guide_case_last(&visit->guide_case);
    if (!last.any || (!last.drive && dw_guide_case_was_brought(&visit->guide_case, last.sign)))
        return NULL; // what the owner brought is no step
    // The evidence is put back as it was: nothing else of the case is changed.
    DwGuideCase as_before = visit->guide_case;
    DwGuideEvidence *evidence = &as_before.evidence[last.sign], kept = *evidence;
    DwGuideReasons before;
    if (!last.drive)
        evidence->from = dw_memory_text(kept.from); // which taking back frees
    dw_guide_case_take_back(&as_before);
    dw_guide_reason(&as_before, &before);
    if (!last.drive)
        free(evidence->from);
    *evidence = kept;
    double *chances = before.standing == DW_GUIDE_NOTHING_SAID ? NULL : before.chance;
    if (chances)
        before.chance = NULL;
    dw_guide_reasons_clear(&before);
    return chances;
}

static void write_bar(DwHtml *html, double share)
{
    char width[24];
    snprintf(width, sizeof width, "%.1f", 100 * share);
    dw_html_open(html, "svg", "class", "odds-bar", "viewBox", "0 0 100 8", "preserveAspectRatio", "none", "aria-hidden",
                 "true", NULL);
    dw_html_element(html, "rect", "", "class", "rule", "x", "0", "y", "3", "width", "100", "height", "2", NULL);
    dw_html_element(html, "rect", "", "class", "share", "x", "0", "y", "0", "width", width, "height", "8", NULL);
    dw_html_close(html, "svg");
}

// "It was this": kept as a finding of the job.
static void write_confirm(DwPage *page, const DwGuideVisit *visit, size_t fault)
{
    char *action = dw_text_format("%s/confirm", visit->path);
    dw_form_begin(page, action, false);
    dw_html_void(page->html, "input", "type", "hidden", "name", "fault", "value", visit->knowledge->faults[fault].key,
                 NULL);
    dw_html_element(page->html, "button", _("It was this: keep it as a finding"), "type", "submit", "class", "second",
                    NULL);
    dw_form_end(page);
    free(action);
}

// What the shop itself found of a cause; "" for nothing. The caller frees it.
static char *own_words(const DwGuideVisit *visit, size_t fault)
{
    const DwGuideCase *guide_case = &visit->guide_case;
    if (!guide_case->own || guide_case->without_own || guide_case->own[fault].decks <= 0)
        return dw_memory_text("");
    DwText text = {0};
    dw_text_add(&text, _("found here on %.0f of %.0f decks, %.0f of %.0f of this model"), guide_case->own[fault].decks,
                guide_case->own_all.decks, guide_case->own[fault].of_model, guide_case->own_all.of_model);
    double alike = dw_guide_case_own_alike(guide_case, fault);
    if (alike > 0) {
        dw_text_add(&text, "; ");
        dw_text_add(&text, _("%.0f of them brought in for the same complaint"), alike);
    }
    return dw_text_take(&text);
}

static void write_cause(DwPage *page, const DwGuideVisit *visit, size_t fault, double before)
{
    DwHtml *html = page->html;
    double chance = visit->reasons.chance[fault];
    dw_html_open(html, "li", NULL);
    dw_html_open(html, "span", "class", "figure", NULL);
    dw_html_format(html, "%.0f", 100 * chance);
    dw_html_element(html, "span", "%", "class", "unit", NULL);
    dw_html_close(html, "span");
    dw_html_open(html, "span", "class", "name", NULL);
    dw_html_text(html, dw_words(visit->knowledge->faults[fault].name));
    if (fabs(before - chance) >= 0.005) {
        char *words = dw_text_format(_("was %.0f %%"), 100 * before);
        dw_html_element(html, "small", words, NULL);
        free(words);
    }
    char *own = own_words(visit, fault);
    if (*own)
        dw_html_element(html, "small", own, NULL);
    free(own);
    dw_html_close(html, "span");
    write_bar(html, chance);
    if (visit->job.record.id && chance >= confirmable)
        write_confirm(page, visit, fault);
    dw_html_close(html, "li");
}

void dw_guide_view_causes(DwPage *page, const DwGuideVisit *visit)
{
    const DwGuideReasons *reasons = &visit->reasons;
    double *before = chances_before(visit);
    dw_html_open(page->html, "section", NULL);
    dw_html_element(page->html, "h2", _("Likely causes"), NULL);
    dw_html_open(page->html, "ol", "class", "odds", NULL);
    for (size_t i = 0; i < reasons->count && i < CAUSES_MOST; i++) {
        size_t fault = reasons->order[i];
        if (reasons->chance[fault] < shown_least)
            continue;
        write_cause(page, visit, fault, before ? before[fault] : NAN);
    }
    dw_html_close(page->html, "ol");
    dw_html_close(page->html, "section");
    free(before);
}

// --- the work -----------------------------------------------------------------

// "20 to 40 minutes", "5 minutes". The caller frees it.
static char *minutes_words(const DwGuideWork *work)
{
    if (work->counted)
        return dw_memory_text(_("in the minutes of a work above"));
    if (isnan(work->least))
        return dw_memory_text("");
    return work->least == work->most ? dw_text_format(_("%.0f minutes"), work->least)
                                     : dw_text_format(_("%.0f to %.0f minutes"), work->least, work->most);
}

static void write_work(DwPage *page, const DwGuideVisit *visit, const DwGuideWork *work)
{
    DwHtml *html = page->html;
    const DwGuideRemedy *remedy = &visit->knowledge->remedies[work->remedy];
    char *minutes = minutes_words(work);
    dw_html_open(html, "li", NULL);
    dw_html_element(html, "strong", dw_words(remedy->name), NULL);
    if (*minutes)
        dw_html_format(html, ", %s", minutes);
    if (remedy->parts)
        dw_html_element(html, "small", remedy->parts, NULL);
    for (size_t i = 0; i < remedy->lubricant.count; i++)
        dw_html_element(html, "small", remedy->lubricant.texts[i], NULL);
    for (size_t i = 0; i < remedy->torque.count; i++)
        dw_html_element(html, "small", remedy->torque.texts[i], NULL);
    if (remedy->tools) {
        dw_html_open(html, "small", NULL);
        dw_html_format(html, _("Tools: %s"), remedy->tools);
        dw_html_close(html, "small");
    }
    dw_page_caution(page, dw_words(remedy->caution));
    for (size_t i = 0; i < remedy->never.count; i++)
        dw_html_element(html, "p", dw_words(remedy->never.texts[i]), "class", "quiet", NULL);
    dw_html_close(html, "li");
    free(minutes);
}

void dw_guide_view_work(DwPage *page, const DwGuideVisit *visit)
{
    DwHtml *html = page->html;
    if (!visit->works.count)
        return;
    dw_html_open(html, "section", NULL);
    dw_html_element(html, "h2", _("Work plan, in this order"), NULL);
    dw_html_open(html, "ol", "class", "works", NULL);
    for (size_t i = 0; i < visit->works.count; i++)
        write_work(page, visit, &visit->works.works[i]);
    dw_html_close(html, "ol");
    char *action = dw_text_format("%s/estimate", visit->path);
    dw_form_begin(page, action, false);
    dw_form_button(page, _("Put these works into the estimate"));
    dw_form_end(page);
    free(action);
    dw_html_close(html, "section");
}

// --- on the telephone ---------------------------------------------------------

// "about 20 to 40 CUR of labour"; "" where the shop names no rate or the minutes are not known. The caller frees it.
static char *cost_words(const DwGuideVisit *visit, double least, double most)
{
    DwBook *book = visit->request->book;
    double rate = (double)dw_settings_amount(book, "money.labour_rate");
    if (!(rate > 0) || isnan(least))
        return dw_memory_text("");
    int digits = (int)dw_settings_integer(book, "money.digits");
    double unit = pow(10, digits);
    char *currency = dw_settings_text(book, "money.currency");
    char *words = dw_text_format(_("About %.0f to %.0f %s of labour before tax."), ceil(least / 60 * rate / unit),
                                 ceil(most / 60 * rate / unit), currency);
    free(currency);
    return words;
}

static void write_called(DwPage *page, const DwGuideVisit *visit, size_t fault)
{
    DwHtml *html = page->html;
    DwGuideWorks works;
    DwMessage message;
    double least = 0, most = 0;
    dw_guide_work_for(visit->knowledge, &fault, 1, &works);
    dw_job_guide_minutes(&visit->guide_case, &works, &message); // without the list the minutes are not known
    dw_html_open(html, "li", NULL);
    dw_html_open(html, "strong", NULL);
    dw_html_format(html, _("If it is this (%.0f %%): %s"), 100 * visit->reasons.chance[fault],
                   dw_words(visit->knowledge->faults[fault].name));
    dw_html_close(html, "strong");
    for (size_t i = 0; i < works.count; i++) {
        const DwGuideRemedy *remedy = &visit->knowledge->remedies[works.works[i].remedy];
        char *minutes = minutes_words(&works.works[i]);
        dw_html_open(html, "p", NULL);
        dw_html_format(html, "%s%s%s", dw_words(remedy->name), *minutes ? ", " : "", minutes);
        if (remedy->parts)
            dw_html_element(html, "small", remedy->parts, NULL);
        dw_html_close(html, "p");
        least += works.works[i].least;
        most += works.works[i].most;
        free(minutes);
    }
    char *cost = cost_words(visit, least, most);
    if (*cost)
        dw_html_element(html, "p", cost, "class", "quiet", NULL);
    dw_html_close(html, "li");
    free(cost);
    free(works.works);
}

void dw_guide_view_call(DwPage *page, const DwGuideVisit *visit)
{
    DwHtml *html = page->html;
    size_t count = 0;
    dw_html_open(html, "section", NULL);
    dw_html_element(html, "h2", _("What to say on the telephone"), NULL);
    dw_html_open(html, "ul", "class", "works", NULL);
    for (size_t i = 0; i < visit->reasons.count && count < CALLED_MOST; i++)
        if (visit->reasons.chance[visit->reasons.order[i]] >= called_least) {
            write_called(page, visit, visit->reasons.order[i]);
            count++;
        }
    dw_html_close(html, "ul");
    if (!count)
        dw_html_element(html, "p", _("No cause stands out. It has to be seen on the bench."), NULL);
    dw_html_element(html, "p", _("This is a guess from what was said. Only the bench can tell."), "class", "quiet",
                    NULL);
    dw_page_link(page, "/job/new", _("New job"));
    dw_html_close(html, "section");
}

static void write_answered(DwHtml *html, const DwGuideVisit *visit, size_t sign)
{
    char *word = dw_guide_spoken_word(&visit->guide_case, sign);
    dw_html_element(html, "dt", dw_words(visit->knowledge->signs[sign].ask), NULL);
    dw_html_open(html, "dd", NULL);
    dw_html_text(html, word);
    if (strcmp(visit->guide_case.evidence[sign].from, "answered") != 0)
        dw_html_element(html, "small", _("by a measurement"), NULL);
    dw_html_close(html, "dd");
    free(word);
}

void dw_guide_view_path(DwPage *page, const DwGuideVisit *visit)
{
    DwHtml *html = page->html;
    const DwGuideCase *guide_case = &visit->guide_case;
    dw_html_open(html, "details", "class", "add", NULL);
    dw_html_element(html, "summary", _("Answers so far"), NULL);
    dw_html_open(html, "dl", "class", "answered", NULL);
    for (unsigned turn = 1; turn <= guide_case->turns; turn++) {
        if (guide_case->drive_turn == turn) {
            dw_html_element(html, "dt", _("What drives the platter?"), NULL);
            dw_html_element(html, "dd", dw_guide_drive_word(guide_case), NULL);
        }
        for (size_t i = 0; i < visit->knowledge->sign_count; i++)
            if (guide_case->evidence[i].turn == turn)
                write_answered(html, visit, i);
    }
    dw_html_close(html, "dl");
    dw_html_close(html, "details");
}
