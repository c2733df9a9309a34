// SPDX-License-Identifier: MIT
// What estimates and invoices share on the command line, and the minutes that an
// operation usually takes.
#include "base/text.h"
#include "base/tongue.h"
#include "book/job/minutes.h"
#include "cli/book_call.h"
#include "procedure/registry/data_table.h"
#include "cli/tell.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

DwStatus dw_book_call_add_line(DwBookCall *call, DwRecord *line, const char *owner, DwMessage *message)
{
    int64_t id = 0;
    DwStatus status = dw_book_call_number(call->words[0], &id, message);
    if (status == DW_OK)
        status = dw_record_set(call->book, line, owner, call->words[0], message);
    if (status == DW_OK)
        return dw_book_call_add(call, line, message);
    dw_record_clear(line);
    return status;
}

DwStatus dw_book_call_issue(DwBookCall *call, DwStatus (*issue)(DwBook *book, int64_t id, DwMessage *message),
                            DwMessage *message)
{
    int64_t id = 0;
    DwStatus status = dw_book_call_number(call->words[0], &id, message);
    if (status == DW_OK)
        status = issue(call->book, id, message);
    if (status == DW_OK)
        dw_tell(stdout, "Estimate id %lld is given out.\n", (long long)id);
    return status;
}

static void replace_operand(DwBookCall *call, const char *key, int64_t minutes)
{
    size_t length = strlen(key);
    call->made = dw_text_format("%s=%lld", key, (long long)minutes);
    for (size_t i = 0; i < call->operand_count; i++)
        if (strncmp(call->operands[i], key, length) == 0 && call->operands[i][length] == '=')
            call->operands[i] = call->made;
}

// Takes SAID.
static void add(DwText *text, char *said)
{
    dw_text_add(text, "%s", said);
    free(said);
}

static char *offer_text(const DwMinutesOffer *offer, const char *key)
{
    DwText text = {0};
    add(&text, dw_say("Usual for it: %lld min", (long long)offer->minutes));
    if (offer->least < offer->most)
        add(&text, dw_say(", from %lld to %lld", (long long)offer->least, (long long)offer->most));
    if (offer->times)
        add(&text, dw_say(", your own of %lld times", (long long)offer->times));
    else
        dw_text_add(&text, " (%s)", dw_said(offer->source));
    add(&text, dw_say(". %s=usual takes it.", key));
    return dw_text_take(&text);
}

static DwStatus find_offer(DwBookCall *call, int64_t deck, DwMinutesOffer *offer, DwMessage *message)
{
    const char *name = dw_book_call_operand(call, "name");
    DwMinutesList list = {0};
    char *path = dw_text_format("%s/operations.ini", dw_data_folder());
    // Without the file the shop's own minutes are still known.
    DwStatus status = access(path, R_OK) == 0 ? dw_minutes_list_read(path, &list, message) : DW_OK;
    if (status == DW_OK)
        status = dw_minutes_offer(call->book, &list, name ? name : "", deck, offer, message);
    dw_minutes_list_clear(&list);
    free(path);
    return status;
}

DwStatus dw_book_call_offer(DwBookCall *call, const char *key, int64_t deck, char **offer, DwMessage *message)
{
    const char *typed = dw_book_call_operand(call, key);
    DwMinutesOffer found = {0};
    *offer = NULL;
    if (typed && strcmp(typed, "usual") != 0)
        return DW_OK;
    DwStatus status = find_offer(call, deck, &found, message);
    if (status != DW_OK)
        return status;
    if (typed && !found.minutes)
        status = dw_fail(message, DW_BAD_INPUT,
                         "Nothing says what that usually takes on this deck. Give the minutes, or add the operation to "
                         "data/operations.ini.");
    else if (typed)
        replace_operand(call, key, found.minutes);
    else if (found.minutes)
        *offer = offer_text(&found, key);
    free(found.source);
    return status;
}
