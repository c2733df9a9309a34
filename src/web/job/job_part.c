// SPDX-License-Identifier: MIT
// The job's page: its parts by the words of addresses, and which of them is open.
#include "base/text.h"
#include "book/job/finding.h"
#include "book/job/set_up.h"
#include "book/job/verdict.h"
#include "book/job/work.h"
#include "book/money/consent.h"
#include "book/money/payment.h"
#include "web/job/job_page.h"
#include "web/server/words.h"

#include <string.h>

const char *dw_job_part_key(int part)
{
    return part == DW_JOB_PART_STATE ? "state" : dw_station_key((DwStationKind)part);
}

const char *dw_job_part_name(int part)
{
    return part == DW_JOB_PART_STATE ? _("Where it goes next") : dw_words(dw_station_word((DwStationKind)part));
}

static int find_part(const char *key)
{
    for (int part = 0; part < DW_JOB_PART_COUNT; part++)
        if (strcmp(dw_job_part_key(part), key) == 0)
            return part;
    return -1;
}

char *dw_job_part_path(const DwJobView *view, int part)
{
    const char *key = dw_job_part_key(part);
    return dw_text_format("%s?at=%s#%s", view->path, key, key);
}

// The part in which the entries of an entity are, when the address names no part.
static const struct {
    const DwEntity *entity;
    int part;
} homes[] = {
    {&dw_intake_entity, DW_STATION_INTAKE},
    {&dw_accessory_entity, DW_STATION_INTAKE},
    {&dw_mark_entity, DW_STATION_INTAKE},
    {&dw_finding_entity, DW_STATION_FINDINGS},
    {&dw_verdict_entity, DW_STATION_FINDINGS},
    {&dw_estimate_entity, DW_STATION_ESTIMATE},
    {&dw_estimate_line_entity, DW_STATION_ESTIMATE},
    {&dw_consent_entity, DW_STATION_ESTIMATE},
    {&dw_operation_entity, DW_STATION_WORK},
    {&dw_lubrication_entity, DW_STATION_WORK},
    {&dw_part_entity, DW_STATION_WORK},
    {&dw_set_up_entity, DW_STATION_SET_UP},
    {&dw_invoice_entity, DW_STATION_PAPERS},
    {&dw_invoice_line_entity, DW_STATION_PAPERS},
    {&dw_payment_entity, DW_STATION_PAPERS},
    {&dw_contact_entity, DW_JOB_PART_STATE},
    {&dw_stage_entity, DW_JOB_PART_STATE},
};

int dw_job_part_open(const DwJobView *view)
{
    int asked = find_part(dw_request_query(view->request, "at"));
    if (asked >= 0)
        return asked;
    if (*dw_request_query(view->request, "zone"))
        return DW_STATION_INTAKE;
    for (size_t i = 0; i < sizeof homes / sizeof *homes; i++)
        if (dw_job_section_opens(view, homes[i].entity))
            return homes[i].part;
    return (int)dw_work_line_now(view->stations);
}
