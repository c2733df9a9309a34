// SPDX-License-Identifier: MIT
#include "web/job_head.h"

#include "book/deck.h"
#include "web/words.h"

#include <stdio.h>

bool dw_job_head_find(DwVisit *visit, DwJob *job)
{
    DwMessage message;
    dw_record_init(&job->record, &dw_job_entity);
    DwStatus status = dw_job_find(visit->book, dw_visit_path(visit, "number"), job, &message);
    if (status == DW_BAD_INPUT)
        dw_visit_refuse(visit, 404, message.text);
    else if (status != DW_OK)
        dw_visit_trouble(visit, status, &message);
    return status == DW_OK;
}

static void write_deck(DwVisit *visit, int64_t id)
{
    DwDeck deck;
    dw_record_init(&deck.record, &dw_deck_entity);
    if (id && dw_record_load(visit->book, &deck.record, id, NULL) == DW_OK)
        dw_html_format(visit->html, "%s %s", deck.make ? deck.make : "", deck.model ? deck.model : "");
    dw_record_clear(&deck.record);
}

static void write_owner(DwVisit *visit, int64_t id)
{
    DwCustomer customer;
    dw_record_init(&customer.record, &dw_customer_entity);
    if (dw_record_load(visit->book, &customer.record, id, NULL) == DW_OK)
        dw_html_format(visit->html, ", %s", customer.name);
    dw_record_clear(&customer.record);
}

void dw_job_head_write(DwVisit *visit, const DwJob *job, const char *title)
{
    char path[48];
    snprintf(path, sizeof path, "/job/%04lld", (long long)job->number);
    dw_html_open(visit->html, "p", "class", "back", NULL);
    dw_html_open(visit->html, "a", "href", path, NULL);
    dw_html_format(visit->html, _("Job %04lld"), (long long)job->number);
    dw_html_close(visit->html, "a");
    dw_html_text(visit->html, " ");
    write_deck(visit, job->deck_id);
    write_owner(visit, job->customer_id);
    dw_html_close(visit->html, "p");
    dw_html_element(visit->html, "h1", title, NULL);
}
