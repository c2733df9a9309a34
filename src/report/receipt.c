// SPDX-License-Identifier: MIT
// The intake receipt: what was received, in what condition, and what was agreed.
#include "base/memory.h"
#include "base/text.h"
#include "book/job/disposal.h"
#include "book/job/visit.h"
#include "book/store/attachment.h"
#include "report/papers.h"
#include "report/sentence/sentence.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *say(const DwDossier *d, const char *key)
{
    return dw_dossier_say(d, "receipt", key);
}

static void add_sentence(DwDossier *d, const char *key)
{
    char *text = dw_sentence(d, "receipt", key, NULL, NULL);
    dw_piece_paragraph(d->flow, text);
    free(text);
}

static void add_words(DwDossier *d)
{
    const DwIntake *intake = &d->intake;
    dw_dossier_add_section(d, "receipt", "words", intake->words ? intake->words : "");
    char *ceiling = dw_dossier_money(d, intake->ceiling), *before = dw_dossier_money(d, intake->contact_before);
    DwPieceFact left[] = {
        {say(d, "since"), dw_memory_text(intake->since_when)},
        {say(d, "worked"), dw_memory_text(intake->worked_last)},
        {say(d, "changed"), dw_memory_text(intake->changed_lately)},
        {say(d, "prior"), dw_memory_text(intake->prior_repairer)},
        {say(d, "system"), dw_memory_text(intake->system)},
    };
    DwPieceFact right[] = {
        {say(d, "wish"), dw_dossier_field(d, &intake->record, "wish")},
        {say(d, "ceiling"), ceiling},
        {say(d, "contact"), before},
        {say(d, "smell"), dw_memory_text(intake->smell)},
        {say(d, "repair"), dw_memory_text(intake->earlier_repair)},
        {say(d, "parcel"), dw_memory_text(intake->parcel)},
    };
    size_t lefts = sizeof left / sizeof *left, rights = sizeof right / sizeof *right;
    dw_piece_facts(d->flow, "", left, lefts, "", right, rights);
    for (size_t i = 0; i < lefts; i++)
        free(left[i].value);
    for (size_t i = 0; i < rights; i++)
        free(right[i].value);
}

static void add_risks(DwDossier *d)
{
    static const char *const risks[] = {"risk.stylus", "risk.irreplaceable", "risk.courier", "risk.dispute"};
    for (size_t i = 0; i < sizeof risks / sizeof *risks; i++) {
        char *text = dw_sentence(d, "receipt", risks[i], NULL, NULL);
        if (*text)
            dw_piece_box(d->flow, dw_dossier_say(d, "paper", "caution"), text, false);
        free(text);
    }
}

static DwStatus add_accessories(DwDossier *d, DwMessage *message)
{
    DwRecords accessories;
    DwStatus status =
        dw_record_list(d->book, &dw_accessory_entity, "intake_id", d->intake.record.id, &accessories, message);
    if (status != DW_OK)
        return status;
    dw_piece_heading(d->flow, say(d, "accessories"));
    for (size_t i = 0; i < accessories.count; i++) {
        const DwAccessory *accessory = (const DwAccessory *)dw_records_at(&accessories, i);
        const char *note = accessory->note ? accessory->note : "";
        char *text = dw_text_format("%s%s%s%s%s", accessory->name, accessory->received ? "" : ": ",
                                    accessory->received ? "" : say(d, "accessories.not"), *note ? ", " : "", note);
        dw_piece_tick(d->flow, text, accessory->received);
        free(text);
    }
    add_sentence(d, "accessories.nothing");
    add_sentence(d, "accessories.none");
    dw_records_clear(&accessories);
    return DW_OK;
}

// Only marks with a place on top of the plinth can be shown on the plan.
static bool place_mark(const DwMark *mark, size_t number, DwPieceMark *place)
{
    if (mark->zone != 0 || !isfinite(mark->across) || !isfinite(mark->along))
        return false;
    *place = (DwPieceMark){fmin(fmax(mark->across, 0), 1), fmin(fmax(mark->along, 0), 1), number};
    return true;
}

static void add_marks_table(DwDossier *d, const DwRecords *marks)
{
    static const DwPaperColumn columns[] = {
        {"mark.number", 0.1, DW_CELL_LEFT},
        {"mark.zone", 0.24, DW_CELL_LEFT},
        {"mark.kind", 0.18, DW_CELL_LEFT},
        {"mark.note", 0.48, DW_CELL_LEFT},
    };
    DwPaperTable table = dw_dossier_table(d, "receipt", columns, 4);
    for (size_t i = 0; i < marks->count; i++) {
        const DwRecord *record = dw_records_at(marks, i);
        char *number = dw_text_format("%zu", i + 1), *zone = dw_dossier_field(d, record, "zone");
        char *kind = dw_dossier_field(d, record, "kind"), *note = dw_dossier_field(d, record, "note");
        dw_piece_table_row(&table, (DwPaperCell[]){{.text = number}, {.text = zone}, {.text = kind}, {.text = note}});
        free(number);
        free(zone);
        free(kind);
        free(note);
    }
}

static DwStatus add_condition(DwDossier *d, DwMessage *message)
{
    DwRecords marks;
    DwStatus status = dw_record_list(d->book, &dw_mark_entity, "intake_id", d->intake.record.id, &marks, message);
    if (status != DW_OK)
        return status;
    dw_piece_heading(d->flow, say(d, "condition"));
    add_sentence(d, "condition.none");
    add_sentence(d, "condition.unknown");
    if (marks.count) {
        DwPieceMark *places = dw_memory_new(marks.count, sizeof *places);
        size_t placed = 0;
        for (size_t i = 0; i < marks.count; i++)
            placed += place_mark((const DwMark *)dw_records_at(&marks, i), i + 1, &places[placed]);
        char *caption = dw_sentence(d, "receipt", "condition.plan", &placed, NULL);
        if (placed)
            dw_piece_plan(d->flow, places, placed, caption);
        free(caption);
        free(places);
        add_marks_table(d, &marks);
    }
    dw_records_clear(&marks);
    return DW_OK;
}

static DwStatus add_photo_count(DwDossier *d, DwMessage *message)
{
    DwRecords attachments;
    DwStatus status = dw_attachment_of_job(d->book, d->job.record.id, &attachments, message);
    if (status != DW_OK)
        return status;
    size_t photos = 0;
    for (size_t i = 0; i < attachments.count; i++) {
        const DwAttachment *attachment = (const DwAttachment *)dw_records_at(&attachments, i);
        photos += (attachment->kind == DW_ATTACHMENT_PHOTO || attachment->kind == DW_ATTACHMENT_STYLUS) &&
                  attachment->phase == DW_PHASE_AS_RECEIVED && dw_dossier_has_file(d, attachment);
    }
    const size_t *about = attachments.count ? &photos : NULL;
    dw_records_clear(&attachments);
    char *count = dw_text_format("%zu", photos);
    char *one = dw_sentence(d, "receipt", "photo", about, NULL);
    char *several = dw_sentence(d, "receipt", "photos", about, "count", count, NULL);
    dw_piece_quiet(d->flow, one);
    dw_piece_quiet(d->flow, several);
    free(one);
    free(several);
    free(count);
    return DW_OK;
}

// A charge is declared with its amount, or not at all.
static void add_charge(DwDossier *d, const char *key, int64_t amount, bool told)
{
    char *days = dw_intake_setting(d->book, d->job.record.id, "storage.free_days");
    char *money = amount > 0 ? dw_dossier_money(d, amount) : dw_memory_text("");
    char *text = dw_sentence(d, "receipt", key, money, "amount", money, "days", days, NULL);
    if (*text)
        dw_piece_tick(d->flow, text, told);
    free(text);
    free(money);
    free(days);
}

static void add_statement(DwDossier *d, const char *key, bool ticked)
{
    char *text = dw_sentence(d, "receipt", key, NULL, NULL);
    dw_piece_tick(d->flow, text, ticked);
    free(text);
}

static void add_declaration(DwDossier *d)
{
    dw_piece_heading(d->flow, say(d, "declaration"));
    add_statement(d, "declaration.list", d->intake.list_correct);
    add_statement(d, "declaration.terms", d->intake.terms_accepted);
    add_charge(d, "declaration.estimate", dw_intake_amount(d->book, d->job.record.id, "money.estimate_charge"),
               d->intake.estimate_charge_told);
    add_charge(d, "declaration.storage", dw_intake_amount(d->book, d->job.record.id, "storage.daily_charge"),
               d->intake.storage_charge_told);
    add_statement(d, "declaration.photos", d->customer.keep_photos);
    add_statement(d, "declaration.publish", d->customer.publish_photos);
    const char *person = d->customer.may_collect;
    char *text = dw_sentence(d, "receipt", "collect", person, "person", person, NULL);
    dw_piece_paragraph(d->flow, text);
    free(text);
}

static void add_signatures(DwDossier *d)
{
    char *day = dw_dossier_time(d->intake.at), *signed_at = NULL;
    DwPicture *picture = dw_dossier_signature(d, DW_PHASE_AS_RECEIVED, &signed_at);
    const char *by = d->intake.received_by ? d->intake.received_by : "";
    char *owner = dw_paper_words_fill(d->words, "receipt", "signed.owner", "person", d->customer.name, NULL);
    char *shop = dw_paper_words_fill(d->words, "receipt", "signed.shop", "person", by, NULL);
    dw_piece_two_signatures(d->flow, owner, signed_at ? signed_at : day, picture, shop, day);
    free(owner);
    free(shop);
    free(day);
    free(signed_at);
}

// What was received with one deck, and how it came.
static DwStatus add_deck(DwDossier *d, DwMessage *message)
{
    add_words(d);
    add_risks(d);
    DwStatus status = add_accessories(d, message);
    if (status == DW_OK)
        status = add_condition(d, message);
    return status == DW_OK ? add_photo_count(d, message) : status;
}

// "0012: Hollin B2, S-1234". The caller frees it with free().
static char *deck_line(const DwDossier *d)
{
    char *deck = dw_dossier_deck(d);
    bool serial = d->deck.serial && *d->deck.serial;
    char *text =
        dw_text_format("%s: %s%s%s", d->number, *deck ? deck : "–", serial ? ", " : "", serial ? d->deck.serial : "");
    free(deck);
    return text;
}

// Another deck that came in together with the first, under its own heading. What the first's declaration says holds
// where it was said of each.
static DwStatus add_other(DwBook *book, const DwJob *job, void *user, DwMessage *message)
{
    DwDossier *d = user, other;
    char *number = dw_text_format("%lld", (long long)job->number);
    DwStatus status = dw_dossier_read(book, number, d->words, d->flow, &other, message);
    other.lost = d->lost;
    if (status == DW_OK && other.intake.record.id) {
        char *line = deck_line(&other);
        dw_piece_heading(d->flow, line);
        free(line);
        status = dw_dossier_add_unsafe(&other, message);
        if (status == DW_OK)
            status = add_deck(&other, message);
        d->intake.list_correct = d->intake.list_correct && other.intake.list_correct;
        d->intake.terms_accepted = d->intake.terms_accepted && other.intake.terms_accepted;
        d->intake.estimate_charge_told = d->intake.estimate_charge_told && other.intake.estimate_charge_told;
        d->intake.storage_charge_told = d->intake.storage_charge_told && other.intake.storage_charge_told;
    }
    dw_dossier_clear(&other);
    free(number);
    return status;
}

// That the receipt is of several decks is said before the first.
static void add_visit(DwDossier *d)
{
    char *decks = dw_dossier_visitors(d, "taken in");
    char *text = dw_sentence(d, "receipt", "visit", NULL, "decks", decks, NULL);
    dw_piece_paragraph(d->flow, text);
    free(text);
    free(decks);
}

DwStatus dw_paper_receipt(DwDossier *d, DwMessage *message)
{
    if (!d->intake.record.id)
        return dw_fail(message, DW_BAD_INPUT,
                       "Job %s has no intake yet. 'deckwright job add %s intake words=…' writes it down.", d->number,
                       d->number);
    dw_dossier_add_head(d, say(d, "title"));
    DwStatus status = dw_dossier_add_unsafe(d, message);
    if (status != DW_OK)
        return status;
    add_visit(d);
    status = add_deck(d, message);
    if (status == DW_OK)
        status = dw_visit_each(d->book, d->job.record.id, add_other, d, message);
    if (status != DW_OK)
        return status;
    dw_dossier_add_cautions(d, DW_CAUTIONS_OF_DECK, "");
    char *terms = dw_intake_setting(d->book, d->job.record.id, "shop.terms");
    dw_dossier_add_section(d, "receipt", "terms", terms);
    free(terms);
    terms = dw_disposal_terms(d->book, d->job.record.id);
    dw_dossier_add_section(d, "receipt", "left_behind", terms);
    free(terms);
    size_t declaration = d->flow->count;
    add_declaration(d);
    add_signatures(d);
    // What is signed and the signatures stand on one page.
    for (size_t i = declaration; i + 1 < d->flow->count; i++)
        d->flow->pieces[i].with_next = true;
    return DW_OK;
}
