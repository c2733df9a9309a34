// SPDX-License-Identifier: MIT
// What the search field finds: jobs, owners, decks, arms, cartridges, stock.
#include "base/text.h"
#include "book/entry/search.h"
#include "book/job/job.h"
#include "book/shop/deck.h"
#include "web/page/page.h"
#include "web/record/pages.h"
#include "web/server/words.h"

#include <stdlib.h>

enum { MOST_HITS = 60, MOST_JOBS = 5 };

// Who looks for an owner or a deck mostly wants the job: the newest few, below it.
static void write_jobs(DwPage *page, const DwHit *hit)
{
    const char *key = hit->entity == &dw_customer_entity ? "customer_id"
                      : hit->entity == &dw_deck_entity   ? "deck_id"
                                                         : NULL;
    DwRecords jobs;
    if (!key || dw_record_list(page->request->book, &dw_job_entity, key, hit->id, &jobs, NULL) != DW_OK)
        return;
    DwHtml *html = page->html;
    dw_html_open(html, "p", "class", "acts", NULL);
    for (size_t i = jobs.count; i > 0 && jobs.count - i < MOST_JOBS; i--) {
        const DwJob *job = (const DwJob *)(const void *)dw_records_at(&jobs, i - 1);
        char *path = dw_text_format("/job/%04lld", (long long)job->number);
        char *words = dw_text_format(_("Job %04lld, %s"), (long long)job->number,
                                     dw_words(dw_job_state_word((DwJobState)job->state)));
        dw_html_element(html, "a", words, "href", path, "class", "button second", NULL);
        free(words);
        free(path);
    }
    dw_html_close(html, "p");
    dw_records_clear(&jobs);
}

static void write_hit(DwPage *page, const DwHit *hit)
{
    DwHtml *html = page->html;
    char *path = hit->entity == &dw_job_entity ? dw_text_format("/job/%s", hit->title)
                                               : dw_text_format("/book/%s/%lld", hit->entity->name, (long long)hit->id);
    dw_html_open(html, "li", NULL);
    dw_html_open(html, "a", "href", path, "class", "card", NULL);
    dw_html_open(html, "span", "class", "headline", NULL);
    dw_html_element(html, "strong", *hit->title ? hit->title : _("not named"), NULL);
    dw_html_element(html, "span", dw_words(hit->entity->label), "class", "quiet", NULL);
    dw_html_close(html, "span");
    dw_html_element(html, "span", hit->detail, NULL);
    dw_html_close(html, "a");
    write_jobs(page, hit);
    dw_html_close(html, "li");
    free(path);
}

static DwAnswer show_found(const DwWebRequest *request)
{
    const char *words = dw_request_query(request, "words");
    DwHits hits;
    DwMessage message;
    DwStatus status = dw_search_words(request->book, words, MOST_HITS, &hits, &message);
    if (status != DW_OK)
        return dw_answer_trouble(status, &message);
    DwPage *page =
        dw_page_begin(request, &(DwPageHead){.title = _("Found"), .style = "job.css", .room = DW_ROOM_BOARD});
    DwHtml *html = page->html;
    dw_html_open(html, "h1", NULL);
    dw_html_format(html, hits.count ? _("Found for “%.*s”") : _("Nothing found for “%.*s”"), dw_text_whole(words, 100),
                   words);
    dw_html_close(html, "h1");
    if (!hits.count)
        dw_html_element(html, "p",
                        _("All words must be found; each may be the beginning of a name, a serial, a number or a "
                          "telephone number."),
                        NULL);
    if (hits.instead) {
        dw_html_open(html, "p", NULL);
        dw_html_format(html, _("Nothing begins like that; this was found by “%s”."), hits.instead);
        dw_html_close(html, "p");
    }
    dw_html_open(html, "ul", "class", "cards", NULL);
    for (size_t i = 0; i < hits.count; i++)
        write_hit(page, &hits.hits[i]);
    dw_html_close(html, "ul");
    dw_hits_clear(&hits);
    return dw_page_end(page);
}

const DwWebRoute dw_routes_find[] = {
    {"GET", "/find", show_found, false},
    {0},
};
