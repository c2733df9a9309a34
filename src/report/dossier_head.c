// SPDX-License-Identifier: MIT
// What the papers share at their head: the shop, the title, whose deck it is,
// and what is unsafe about it.
#include "report/dossier.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/job/verdict.h"
#include "report/sentence/sentence.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// "#rrggbb", else the theme's accent.
static DwColour shop_colour(const DwDossier *dossier)
{
    char *text = dw_dossier_setting(dossier, "shop.colour");
    unsigned red, green, blue;
    DwColour colour = dw_theme_colour(DW_THEME_PAPER, DW_INK_ACCENT);
    if (strlen(text) == 7 && sscanf(text, "#%2x%2x%2x", &red, &green, &blue) == 3)
        colour = (DwColour){red / 255.0, green / 255.0, blue / 255.0};
    free(text);
    return colour;
}

// What the shop is called and where: as it is now, on an issued invoice as it was.
static char *shop_says(const DwDossier *dossier, const char *key, const char *kept)
{
    bool issued = dossier->bill && dossier->bill->state == DW_INVOICE_ISSUED;
    return issued ? dw_memory_text(kept) : dw_dossier_setting(dossier, key);
}

static void add_shop(DwDossier *dossier)
{
    const DwInvoice none = {.state = DW_INVOICE_DRAFT}, *bill = dossier->bill ? dossier->bill : &none;
    char *name = shop_says(dossier, "shop.name", bill->shop_name);
    char *lines[] = {
        shop_says(dossier, "shop.address", bill->shop_address),
        shop_says(dossier, "shop.phone", bill->shop_phone),
        shop_says(dossier, "shop.email", bill->shop_email),
        dossier->bill ? shop_says(dossier, "shop.tax_number", bill->shop_tax_number) : dw_memory_text(""),
    };
    const size_t count = sizeof lines / sizeof *lines;
    DwText address = {0};
    for (size_t i = 0; i < count; i++) {
        bool number = i + 1 == count;
        if (*lines[i])
            dw_text_add(&address, "%s%s%s%s", address.length ? "\n" : "",
                        number ? dw_dossier_say(dossier, "invoice", "tax_number") : "", number ? " " : "", lines[i]);
        free(lines[i]);
    }
    char *text = dw_text_take(&address);
    dw_piece_shop(dossier->flow, &(DwPieceShop){name, text, dossier->logo, shop_colour(dossier)});
    free(name);
    free(text);
}

// Make, model and serial in one line.
static char *identity(const char *make, const char *model, const char *serial, const char *serial_word)
{
    DwText text = {0};
    dw_text_add(&text, "%s", make ? make : "");
    if (model && *model)
        dw_text_add(&text, "%s%s", text.length ? " " : "", model);
    if (serial && *serial)
        dw_text_add(&text, "%s%s %s", text.length ? ", " : "", serial_word, serial);
    return dw_text_take(&text);
}

static char *stylus_line(const DwDossier *dossier)
{
    const DwStylus *stylus = &dossier->stylus;
    char *hours = dw_dossier_field(dossier, &stylus->record, "hours");
    char *text = identity(stylus->model, stylus->profile, NULL, "");
    char *whole =
        *hours ? dw_text_format("%s%s%s %s", text, *text ? ", " : "", hours, dw_dossier_say(dossier, "paper", "hours"))
               : dw_memory_text(text);
    free(text);
    free(hours);
    return whole;
}

static void add_facts(DwDossier *dossier, const DwPieceFact *left, size_t lefts, const char *left_title)
{
    const DwDossier *d = dossier;
    const char *serial = dw_dossier_say(d, "paper", "serial");
    DwPieceFact right[] = {
        {dw_dossier_say(d, "paper", "deck"), dw_dossier_deck(d)},
        {serial, dw_memory_text(d->deck.serial)},
        {dw_dossier_say(d, "paper", "drive"), dw_dossier_field(d, &d->deck.record, "drive")},
        {dw_dossier_say(d, "paper", "arm"), identity(d->arm.make, d->arm.model, d->arm.serial, serial)},
        {dw_dossier_say(d, "paper", "cartridge"),
         identity(d->cartridge.make, d->cartridge.model, d->cartridge.serial, serial)},
        {dw_dossier_say(d, "paper", "stylus"), stylus_line(d)},
    };
    size_t rights = sizeof right / sizeof *right;
    dw_piece_facts(d->flow, left_title, left, lefts, dw_dossier_say(d, "paper", "deck.title"), right, rights);
    for (size_t i = 0; i < rights; i++)
        free(right[i].value);
}

void dw_dossier_add_head_with(DwDossier *dossier, const char *title, const char *facts_title, const DwPieceFact *facts,
                              size_t count)
{
    char *job = dw_paper_words_fill(dossier->words, "paper", "job", "number", dossier->number, NULL);
    add_shop(dossier);
    dw_piece_title(dossier->flow, title, job);
    add_facts(dossier, facts, count, facts_title);
    free(job);
}

// The owner, with how to reach them unless the paper is BRIEF, and the dates of the job.
static void add_owner_head(DwDossier *d, const char *title, bool brief)
{
    char *received = dw_sentence(d, "paper", "received", NULL, NULL);
    char *booked = dw_sentence(d, "paper", "booked", NULL, NULL);
    DwPieceFact facts[] = {
        {dw_dossier_say(d, "paper", "name"), dw_memory_text(d->customer.name)},
        {dw_dossier_say(d, "paper", "address"), dw_memory_text(brief ? "" : d->customer.address)},
        {dw_dossier_say(d, "paper", "phone"), dw_memory_text(brief ? "" : d->customer.phone)},
        {dw_dossier_say(d, "paper", "email"), dw_memory_text(brief ? "" : d->customer.email)},
        {received, *received ? dw_dossier_received(d) : dw_memory_text("")},
        {booked, dw_dossier_day(*booked ? d->job.opened_at : NULL)},
        {dw_dossier_say(d, "paper", "promised"), dw_dossier_day(brief ? NULL : d->job.promised_on)},
        {dw_dossier_say(d, "paper", "technician"), dw_memory_text(brief ? d->job.technician : "")},
    };
    size_t count = sizeof facts / sizeof *facts;
    dw_dossier_add_head_with(d, title, dw_dossier_say(d, "paper", "customer"), facts, count);
    for (size_t i = 0; i < count; i++)
        free(facts[i].value);
    free(received);
    free(booked);
}

void dw_dossier_add_head(DwDossier *dossier, const char *title)
{
    add_owner_head(dossier, title, false);
}

void dw_dossier_add_brief_head(DwDossier *dossier, const char *title)
{
    add_owner_head(dossier, title, true);
}

// Who was told that it leaves unsafe; "" when nobody acknowledged it yet.
static DwStatus acknowledged(const DwDossier *dossier, const DwItemVerdict *verdict, char **text, DwMessage *message)
{
    DwRecords records;
    DwStatus status =
        dw_record_list(dossier->book, &dw_acknowledgement_entity, "verdict_id", verdict->record.id, &records, message);
    if (status != DW_OK)
        return status;
    const DwAcknowledgement *told =
        records.count ? (const DwAcknowledgement *)dw_records_at(&records, records.count - 1) : NULL;
    char *day = dw_dossier_day(told ? told->at : NULL);
    *text = told ? dw_sentence(dossier, "paper", "unsafe.told", verdict, "person", told->person, "day", day, "words",
                               told->words, NULL)
                 : dw_sentence(dossier, "paper", "unsafe.not_told", verdict, NULL);
    free(day);
    dw_records_clear(&records);
    return DW_OK;
}

DwStatus dw_dossier_add_unsafe(DwDossier *dossier, DwMessage *message)
{
    for (size_t i = 0; i < dossier->verdicts.count; i++) {
        const DwItemVerdict *verdict = (const DwItemVerdict *)dw_records_at(&dossier->verdicts, i);
        if (verdict->grade != DW_VERDICT_UNSAFE)
            continue;
        char *told = NULL;
        DwStatus status = acknowledged(dossier, verdict, &told, message);
        if (status != DW_OK)
            return status;
        char *word = dw_paper_words_fill(dossier->words, "paper", "unsafe", "item", verdict->item, NULL);
        char *rule = dw_sentence(dossier, "paper", "unsafe.text", NULL, NULL);
        char *text = dw_text_format("%s%s%s\n%s", verdict->evidence ? verdict->evidence : "",
                                    verdict->evidence && *verdict->evidence ? " " : "", rule, told);
        dw_piece_box(dossier->flow, word, text, true);
        free(word);
        free(rule);
        free(text);
        free(told);
    }
    return DW_OK;
}

void dw_dossier_add_section(DwDossier *dossier, const char *group, const char *key, const char *text)
{
    if (!*text)
        return;
    dw_piece_heading(dossier->flow, dw_dossier_say(dossier, group, key));
    dw_piece_paragraph(dossier->flow, text);
}

void dw_dossier_add_fixed(DwDossier *dossier, const char *group, const char *key, const void *about)
{
    char *fixed = dw_text_format("%s.text", key), *text = dw_sentence(dossier, group, fixed, about, NULL);
    dw_piece_heading(dossier->flow, dw_dossier_say(dossier, group, key));
    dw_piece_paragraph(dossier->flow, text);
    dossier->flow->pieces[dossier->flow->count - 1].with_next = true;
    free(text);
    free(fixed);
}

DwPaperTable dw_dossier_table(DwDossier *dossier, const char *group, const DwPaperColumn *columns, size_t count)
{
    DwPaperColumn *titled = dw_memory_new(count, sizeof *titled);
    char **titles = dw_memory_new(count, sizeof *titles);
    for (size_t i = 0; i < count; i++) {
        titles[i] = dw_paper_words_fill(dossier->words, group, columns[i].title, "currency", dossier->currency, NULL);
        titled[i] = columns[i];
        titled[i].title = titles[i];
    }
    DwPaperTable table = dw_piece_table_begin(dossier->flow, titled, count);
    for (size_t i = 0; i < count; i++)
        free(titles[i]);
    free(titles);
    free(titled);
    return table;
}
