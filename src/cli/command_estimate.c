// SPDX-License-Identifier: MIT
// Estimates in versions and options.
#include "book/money/consent.h"
#include "book/job/job.h"
#include "book/shop/settings.h"
#include "cli/book_call.h"
#include "cli/tell.h"

#include <stdlib.h>

static void print_amount(DwBookCall *call, const char *label, int64_t amount)
{
    char *text = dw_tell_number(dw_money_text(amount, (int)dw_settings_integer(call->book, "money.digits")));
    printf("  %s %s", label, text);
    free(text);
}

static DwStatus draft(DwBookCall *call, DwMessage *message)
{
    DwJob job;
    DwEstimate estimate;
    dw_record_init(&job.record, &dw_job_entity);
    dw_record_init(&estimate.record, &dw_estimate_entity);
    DwStatus status = dw_job_find(call->book, call->words[0], &job, message);
    // What is given is looked at first, so that a mistyped amount leaves no draft behind.
    if (status == DW_OK)
        status = dw_book_call_set(call, &estimate.record, message);
    dw_record_clear(&estimate.record);
    if (status == DW_OK)
        status = dw_estimate_draft(call->book, job.record.id, &estimate, message);
    if (status == DW_OK && call->operand_count)
        status = dw_book_call_set(call, &estimate.record, message);
    if (status == DW_OK && call->operand_count)
        status = dw_record_save(call->book, &estimate.record, message);
    if (status == DW_OK)
        dw_book_call_print(call, &estimate.record);
    dw_record_clear(&job.record);
    dw_record_clear(&estimate.record);
    return status;
}

// The deck of the estimate that the call's first word numbers; 0 when there is none.
static DwStatus deck_of(DwBookCall *call, int64_t *deck, DwMessage *message)
{
    DwEstimate estimate;
    DwJob job;
    int64_t id = 0;
    dw_record_init(&estimate.record, &dw_estimate_entity);
    dw_record_init(&job.record, &dw_job_entity);
    DwStatus status = dw_book_call_number(call->words[0], &id, message);
    if (status == DW_OK)
        status = dw_record_load(call->book, &estimate.record, id, message);
    if (status == DW_OK)
        status = dw_record_load(call->book, &job.record, estimate.job_id, message);
    *deck = job.deck_id;
    dw_record_clear(&estimate.record);
    dw_record_clear(&job.record);
    return status;
}

// Labour without minutes is offered what is usual.
static DwStatus add_line(DwBookCall *call, DwMessage *message)
{
    DwBillLine line;
    int64_t deck = 0;
    char *offer = NULL;
    bool is_priced = dw_book_call_operand(call, "price") || dw_book_call_operand(call, "amount");
    dw_record_init(&line.record, &dw_estimate_line_entity);
    DwStatus status = deck_of(call, &deck, message);
    if (status == DW_OK)
        status = dw_book_call_offer(call, "minutes", deck, &offer, message);
    if (status == DW_OK && offer && !is_priced && !dw_book_call_operand(call, "kind"))
        status = dw_fail(message, DW_BAD_INPUT, "The line has neither minutes nor an amount. %s", offer);
    free(offer);
    return status == DW_OK ? dw_book_call_add_line(call, &line.record, "estimate_id", message) : status;
}

static DwStatus issue(DwBookCall *call, DwMessage *message)
{
    return dw_book_call_issue(call, dw_estimate_issue, message);
}

static DwStatus print_totals(DwBookCall *call, int64_t id, DwMessage *message)
{
    static const char *const tiers[] = {N_("minimum"), N_("recommended"), N_("full")};
    for (int tier = DW_TIER_MINIMUM; tier <= DW_TIER_FULL; tier++) {
        DwTotals totals;
        bool uneconomic;
        DwStatus status = dw_estimate_totals(call->book, id, (DwTier)tier, &totals, &uneconomic, message);
        if (status != DW_OK)
            return status;
        dw_tell_padded(stdout, dw_said(tiers[tier]), 12);
        print_amount(call, dw_said("net"), totals.net);
        print_amount(call, dw_said("tax"), totals.tax);
        print_amount(call, dw_said("total"), totals.gross);
        puts(uneconomic ? dw_said("  more than the deck is worth repairing for") : "");
    }
    return DW_OK;
}

static DwStatus show(DwBookCall *call, DwMessage *message)
{
    DwEstimate estimate;
    dw_record_init(&estimate.record, &dw_estimate_entity);
    return dw_book_call_show_bill(call, &estimate.record, &dw_estimate_line_entity, "estimate_id", print_totals,
                                  message);
}

static const DwVerb *estimate_verbs(void)
{
    static const DwVerb verbs[] = {
        {"draft", "JOB [key=value …]", "Start the next version, with the lines of the one before.", 1, 1, draft,
         .operands = true, .json = true},
        {"line", "ESTIMATE name=… [tier=recommended] [minutes=…|usual] [price=…] [amount=…]",
         "Add a line to a draft; minutes=usual takes what the operation usually takes.", 1, 1, add_line,
         .operands = true, .json = true},
        {"issue", "ESTIMATE", "Give the draft out; it then stands until its last valid day.", 1, 1, issue},
        {"show", "ESTIMATE", "Show the estimate, its lines and the total of each option.", 1, 1, show, .json = true},
        {NULL},
    };
    return verbs;
}

const DwCommand dw_command_estimate = {"estimate", "estimate VERB …", "Make estimates in versions and options.",
                                       .verbs = estimate_verbs, .own = &dw_estimate_entity};
