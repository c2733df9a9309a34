// SPDX-License-Identifier: MIT
#include "web/paper/pages.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/job/verdict.h"
#include "book/money/consent.h"
#include "book/money/invoice.h"
#include "book/shop/deck.h"
#include "book/shop/settings.h"
#include "book/store/attachment.h"
#include "procedure/registry/data_table.h"
#include "report/picture.h"
#include "report/report_words.h"
#include "report/typed_signature.h"
#include "base/content.h"
#include "web/server/request.h"
#include "web/server/words.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SIGNATURE_BYTES_MOST = 2 << 20, SIGNATURE_SIDE_MOST = 4000 };

__attribute__((format(printf, 2, 3))) static void add_line(DwSigning *signing, const char *format, ...)
{
    char *line = NULL;
    va_list list;
    if (signing->line_count == sizeof signing->lines / sizeof *signing->lines)
        return;
    va_start(list, format);
    if (vasprintf(&line, format, list) < 0)
        abort();
    va_end(list);
    signing->lines[signing->line_count++] = line;
}

// Takes ownership of WORDS.
static void add_tick(DwSigning *signing, const char *key, char *words, bool set, bool of_customer)
{
    if (signing->tick_count < sizeof signing->ticks / sizeof *signing->ticks)
        signing->ticks[signing->tick_count++] = (DwSigningTick){key, words, set, of_customer};
    else
        free(words);
}

static char *money(DwBook *book, int64_t amount)
{
    char *number = dw_money_text(amount, (int)dw_settings_integer(book, "money.digits"));
    char *currency = dw_settings_text(book, "money.currency");
    char *text = dw_text_format("%s\u00a0%s", number, currency);
    free(number);
    free(currency);
    return text;
}

// The caller frees it.
static char *deck_name(DwBook *book, int64_t id)
{
    DwDeck deck;
    dw_record_init(&deck.record, &dw_deck_entity);
    char *name = NULL;
    if (id && dw_record_load(book, &deck.record, id, NULL) == DW_OK) {
        bool numbered = deck.serial && *deck.serial;
        name = dw_text_format("%s %s%s%s", deck.make ? deck.make : "", deck.model ? deck.model : "",
                              numbered ? _(", serial ") : "", numbered ? deck.serial : "");
    }
    dw_record_clear(&deck.record);
    return name ? name : dw_memory_text(_("not written down yet"));
}

// The accessories that were RECEIVED, or those that were not, behind HEAD.
static void add_accessories(DwSigning *signing, const DwRecords *accessories, bool received, const char *head)
{
    DwText text = {0};
    for (size_t i = 0; i < accessories->count; i++) {
        const DwAccessory *accessory = (const DwAccessory *)dw_records_at(accessories, i);
        if (accessory->received == received)
            dw_text_add(&text, "%s%s", text.length ? ", " : "", accessory->name);
    }
    if (text.length)
        add_line(signing, "%s: %s.", head, text.chars);
    dw_text_clear(&text);
}

static void add_marks(DwBook *book, DwSigning *signing)
{
    DwRecords marks;
    DwText text = {0};
    if (dw_record_list(book, &dw_mark_entity, "intake_id", signing->intake.record.id, &marks, NULL) != DW_OK)
        return;
    for (size_t i = 0; i < marks.count; i++) {
        const DwRecord *mark = dw_records_at(&marks, i);
        char *zone = dw_record_text(book, mark, dw_field_find(&dw_mark_entity, "zone"));
        char *kind = dw_record_text(book, mark, dw_field_find(&dw_mark_entity, "kind"));
        dw_text_add(&text, "%s%s, %s", text.length ? "; " : "", zone, kind);
        free(zone);
        free(kind);
    }
    if (text.length)
        add_line(signing, _("Marks it came with: %s."), text.chars);
    else
        add_line(signing, "%s", _("It came without marks that were noted."));
    dw_text_clear(&text);
    dw_records_clear(&marks);
}

static void add_declarations(DwBook *book, DwSigning *signing)
{
    const DwIntake *intake = &signing->intake;
    const DwPaperWords *words = signing->words;
    char *days = dw_intake_setting(book, signing->job->record.id, "storage.free_days");
    int64_t estimate = dw_intake_amount(book, signing->job->record.id, "money.estimate_charge");
    int64_t storage = dw_intake_amount(book, signing->job->record.id, "storage.daily_charge");
    char *estimate_text = money(book, estimate), *storage_text = money(book, storage);
    add_tick(signing, "list_correct", dw_paper_words_fill(words, "receipt", "declaration.list", NULL),
             intake->list_correct, false);
    add_tick(signing, "terms_accepted", dw_paper_words_fill(words, "receipt", "declaration.terms", NULL),
             intake->terms_accepted, false);
    if (estimate > 0)
        add_tick(signing, "estimate_charge_told",
                 dw_paper_words_fill(words, "receipt", "declaration.estimate", "amount", estimate_text, NULL),
                 intake->estimate_charge_told, false);
    if (storage > 0)
        add_tick(
            signing, "storage_charge_told",
            dw_paper_words_fill(words, "receipt", "declaration.storage", "amount", storage_text, "days", days, NULL),
            intake->storage_charge_told, false);
    add_tick(signing, "keep_photos", dw_paper_words_fill(words, "receipt", "declaration.photos", NULL),
             signing->customer.keep_photos, true);
    add_tick(signing, "publish_photos", dw_paper_words_fill(words, "receipt", "declaration.publish", NULL),
             signing->customer.publish_photos, true);
    free(days);
    free(estimate_text);
    free(storage_text);
}

static void read_intake(DwBook *book, DwSigning *signing, const DwRecords *accessories)
{
    const DwIntake *intake = &signing->intake;
    char *deck = deck_name(book, signing->job->deck_id);
    add_line(signing, _("I leave this deck with the shop: %s."), deck);
    free(deck);
    add_accessories(signing, accessories, true, dw_paper_words_say(signing->words, "receipt", "accessories"));
    add_accessories(signing, accessories, false, _("Looked for and not received"));
    if (intake->none_other_received)
        add_line(signing, "%s", dw_paper_words_say(signing->words, "receipt", "accessories.none"));
    add_marks(book, signing);
    if (intake->words && *intake->words)
        add_line(signing, _("In my words: %s"), intake->words);
    char *ceiling = money(book, intake->ceiling);
    if (intake->ceiling != DW_AMOUNT_NONE)
        add_line(signing, _("Up to %s may be spent without asking me."), ceiling);
    else
        add_line(signing, "%s", _("Nothing is spent without asking me."));
    free(ceiling);
    signing->terms = dw_intake_setting(book, signing->job->record.id, "shop.terms");
    add_declarations(book, signing);
}

static void add_unsafe(DwBook *book, DwSigning *signing)
{
    DwRecords verdicts;
    if (dw_verdict_standing(book, signing->job->record.id, &verdicts, NULL) != DW_OK)
        return;
    for (size_t i = 0; i < verdicts.count; i++) {
        const DwItemVerdict *verdict = (const DwItemVerdict *)dw_records_at(&verdicts, i);
        if (verdict->grade == DW_VERDICT_UNSAFE)
            add_line(signing, _("I was told that this is unsafe and that the deck must not be used like that: %s."),
                     verdict->item);
    }
    dw_records_clear(&verdicts);
}

// What the newest invoice comes to; DW_AMOUNT_NONE without one.
static int64_t billed(DwBook *book, int64_t job)
{
    DwRecords invoices;
    DwTotals totals = {0};
    int64_t amount = DW_AMOUNT_NONE;
    if (dw_record_list(book, &dw_invoice_entity, "job_id", job, &invoices, NULL) != DW_OK)
        return amount;
    if (invoices.count &&
        dw_invoice_totals(book, dw_records_at(&invoices, invoices.count - 1)->id, &totals, NULL) == DW_OK)
        amount = totals.gross;
    dw_records_clear(&invoices);
    return amount;
}

static void read_hand_over(DwBook *book, DwSigning *signing, const DwRecords *accessories)
{
    const DwJob *job = signing->job;
    int64_t amount = billed(book, job->record.id);
    char *deck = deck_name(book, job->deck_id);
    add_line(signing, _("I received this deck back: %s."), deck);
    free(deck);
    add_accessories(signing, accessories, true, _("And with it what it came with"));
    if (job->not_done && *job->not_done)
        add_line(signing, _("Not done: %s"), job->not_done);
    if (job->advice && *job->advice)
        add_line(signing, _("Advice: %s"), job->advice);
    add_unsafe(book, signing);
    char *text = money(book, amount);
    if (amount != DW_AMOUNT_NONE)
        add_line(signing, _("The invoice comes to %s."), text);
    free(text);
}

static DwStatus read_point(DwBook *book, DwSigning *signing, DwMessage *message)
{
    bool hand_over = signing->phase == DW_PHASE_AS_LEFT;
    DwRecords accessories = {.entity = &dw_accessory_entity};
    DwStatus status = dw_intake_of_job(book, signing->job->record.id, &signing->intake, message);
    if (status == DW_BAD_INPUT && hand_over)
        status = DW_OK; // a deck that was taken in without one goes back all the same
    if (status == DW_OK)
        status =
            dw_record_list(book, &dw_accessory_entity, "intake_id", signing->intake.record.id, &accessories, message);
    if (status != DW_OK)
        return status;
    if (hand_over)
        read_hand_over(book, signing, &accessories);
    else
        read_intake(book, signing, &accessories);
    dw_records_clear(&accessories);
    return DW_OK;
}

DwStatus dw_signing_read(DwBook *book, const DwJob *job, const char *at, DwSigning *signing, DwMessage *message)
{
    bool intake = strcmp(at, "intake") == 0, hand_over = strcmp(at, "handover") == 0;
    *signing = (DwSigning){.job = job,
                           .at = hand_over ? "handover" : "intake",
                           .phase = hand_over ? DW_PHASE_AS_LEFT : DW_PHASE_AS_RECEIVED};
    dw_record_init(&signing->intake.record, &dw_intake_entity);
    dw_record_init(&signing->customer.record, &dw_customer_entity);
    if (!intake && !hand_over)
        return dw_fail(message, DW_BAD_INPUT, "Something is signed at intake or at hand-over.");
    DwStatus status = dw_record_load(book, &signing->customer.record, job->customer_id, message);
    if (status == DW_OK)
        status = dw_report_words(book, &signing->customer, dw_data_folder(), &signing->words, message);
    if (status == DW_OK)
        status = read_point(book, signing, message);
    signing->person = dw_memory_text(signing->customer.name ? signing->customer.name : "");
    return status;
}

void dw_signing_clear(DwSigning *signing)
{
    for (size_t i = 0; i < signing->line_count; i++)
        free(signing->lines[i]);
    for (size_t i = 0; i < signing->tick_count; i++)
        free(signing->ticks[i].words);
    free(signing->terms);
    free(signing->person);
    dw_paper_words_free(signing->words);
    dw_record_clear(&signing->intake.record);
    dw_record_clear(&signing->customer.record);
}

DwStatus dw_signing_read_drawn(const char *path, size_t file_bytes, char **bytes, size_t *length, DwMessage *message)
{
    const DwContent *content = dw_content_of_file(path);
    if (!content || strcmp(content->media, "image/png") != 0 || file_bytes > SIGNATURE_BYTES_MOST)
        return dw_fail(message, DW_BAD_INPUT, "The signature did not come as a small PNG picture. Sign again.");
    DwPictureCopy copy;
    DwStatus status = dw_picture_copy(path, SIGNATURE_SIDE_MOST, 0, &copy, message);
    if (status != DW_OK)
        return status;
    free(copy.bytes);
    if (copy.width > SIGNATURE_SIDE_MOST || copy.height > SIGNATURE_SIDE_MOST)
        return dw_fail(message, DW_BAD_INPUT, "The signature is larger than a screen. Sign again.");
    *bytes = dw_request_read(path, length);
    return *bytes ? DW_OK : dw_fail(message, DW_FAILED, "The signature could not be read. Sign again.");
}

DwStatus dw_signing_draw_typed(const char *name, char **bytes, size_t *length, DwMessage *message)
{
    return dw_typed_signature_draw(name, _("typed, not written by hand"), bytes, length, message);
}

static DwStatus keep_ticks(DwBook *book, DwSigning *signing, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = 0; i < signing->tick_count && status == DW_OK; i++) {
        const DwSigningTick *tick = &signing->ticks[i];
        DwRecord *record = tick->of_customer ? &signing->customer.record : &signing->intake.record;
        status = dw_record_set(book, record, tick->key, tick->set ? "yes" : "no", message);
    }
    if (status == DW_OK && signing->tick_count)
        status = dw_record_save(book, &signing->intake.record, message);
    if (status == DW_OK && signing->tick_count)
        status = dw_record_save(book, &signing->customer.record, message);
    return status;
}

static DwStatus keep_picture(DwBook *book, const DwSigning *signing, const char *person, bool drawn, const char *bytes,
                             size_t length, DwMessage *message)
{
    DwAttachment attachment;
    dw_record_init(&attachment.record, &dw_attachment_entity);
    attachment.job_id = signing->job->record.id;
    attachment.kind = DW_ATTACHMENT_SIGNATURE;
    attachment.phase = signing->phase;
    attachment.personal = true;
    attachment.caption = dw_text_format(drawn ? _("%s, signed by hand") : _("%s, typed"), person);
    DwStatus status = dw_attachment_add_bytes(book, &attachment, "signature.png", bytes, length, message);
    dw_record_clear(&attachment.record);
    return status;
}

// What the signature stands under, so that nobody has to ask later.
static char *signed_words(const DwSigning *signing, bool drawn)
{
    DwText text = {0};
    dw_text_add(&text, "%s %s", signing->phase == DW_PHASE_AS_LEFT ? _("Signed at hand-over,") : _("Signed at intake,"),
                drawn ? _("by hand:") : _("by typing the name:"));
    for (size_t i = 0; i < signing->line_count; i++)
        dw_text_add(&text, " %s", signing->lines[i]);
    for (size_t i = 0; i < signing->tick_count; i++)
        if (signing->ticks[i].set)
            dw_text_add(&text, " %s", signing->ticks[i].words);
    return dw_text_take(&text);
}

// A signature agrees to no more than was agreed: the ceiling at intake, at hand-over
// what stands agreed or is billed.
static DwStatus log_consent(DwBook *book, const DwSigning *signing, const char *person, bool drawn, DwMessage *message)
{
    DwConsent consent;
    int64_t job = signing->job->record.id, agreed = DW_AMOUNT_NONE;
    dw_record_init(&consent.record, &dw_consent_entity);
    DwStatus status = dw_consent_agreed(book, job, &agreed, message);
    bool hand_over = signing->phase == DW_PHASE_AS_LEFT;
    if (hand_over && agreed == DW_AMOUNT_NONE)
        agreed = billed(book, job);
    consent.job_id = job;
    consent.answer = !hand_over && agreed != DW_AMOUNT_NONE ? DW_CONSENT_UP_TO : DW_CONSENT_AGREED;
    consent.amount = agreed == DW_AMOUNT_NONE ? 0 : agreed;
    consent.person = dw_memory_text(person);
    consent.how = DW_ROUTE_COUNTER;
    consent.words = signed_words(signing, drawn);
    if (status == DW_OK)
        status = dw_consent_log(book, &consent, message);
    dw_record_clear(&consent.record);
    return status;
}

DwStatus dw_signing_keep(DwBook *book, DwSigning *signing, const char *person, bool drawn, const char *bytes,
                         size_t length, DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    status = keep_ticks(book, signing, message);
    if (status == DW_OK)
        status = log_consent(book, signing, person, drawn, message);
    // The file comes last: what fails before it leaves none behind.
    if (status == DW_OK)
        status = keep_picture(book, signing, person, drawn, bytes, length, message);
    return dw_book_end(book, status, message);
}
