// SPDX-License-Identifier: MIT
// The estimate, and what bills share.
#include "base/memory.h"
#include "base/text.h"
#include "book/money/consent.h"
#include "book/money/estimate.h"
#include "book/money/invoice.h"
#include "chart/draw/number.h"
#include "report/bill_piece.h"
#include "report/papers.h"
#include "report/sentence/sentence.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static bool is_credit(const DwRecord *record)
{
    return record->entity == &dw_invoice_entity && dw_invoice_is_credit((const DwInvoice *)record);
}

// A draft is printed only where nothing was given out.
DwStatus dw_paper_newest(const DwDossier *d, DwRecord *record, bool credits_too, DwMessage *message)
{
    DwRecords records;
    DwStatus status = dw_dossier_records(d, record->entity, &records, message);
    if (status != DW_OK)
        return status;
    int64_t newest = 0;
    bool is_out = false;
    for (size_t i = 0; i < records.count; i++) {
        char *state = dw_dossier_field(d, dw_records_at(&records, i), "state");
        bool out = strcmp(state, "draft") != 0, left_out = !credits_too && is_credit(dw_records_at(&records, i));
        if (!left_out && (out || !is_out))
            newest = dw_records_at(&records, i)->id;
        is_out = is_out || (out && !left_out);
        free(state);
    }
    dw_records_clear(&records);
    const char *name = record->entity->name;
    return newest ? dw_record_load(d->book, record, newest, message)
                  : dw_fail(message, DW_BAD_INPUT, "Job %s has no %s. 'deckwright %s draft %s' starts one.", d->number,
                            name, name, d->number);
}

char *dw_paper_tax_name(const DwDossier *d, int64_t rate)
{
    DwNumber number = dw_number_print(100.0 * (double)rate / DW_RATE_WHOLE, -1, false);
    return dw_paper_words_fill(d->words, "paper", "tax", "rate", number.text, NULL);
}

// "Clean and oil the bearing, 45 min" or "Belt, 2 ×": what the amount is made of.
char *dw_bill_line_name(const char *name, int kind, int64_t minutes, double quantity)
{
    char *count = NULL, *text;
    if (kind == DW_LINE_LABOUR && minutes)
        count = dw_text_format("%s\u202fmin", dw_number_print((double)minutes, 0, false).text);
    else if (isfinite(quantity) && quantity != 1 && quantity != 0)
        count = dw_text_format("%s\u202f×", dw_number_print(quantity, -1, false).text);
    text = count ? dw_text_format("%s, %s", name, count) : dw_memory_text(name);
    free(count);
    return text;
}

static const DwPaperColumn option_columns[] = {
    {"line", 0.46, DW_CELL_LEFT},
    {"minimum", 0.18, DW_CELL_RIGHT},
    {"recommended", 0.18, DW_CELL_RIGHT},
    {"full", 0.18, DW_CELL_RIGHT},
};

static void add_option_lines(DwDossier *d, DwPaperTable *table, const DwRecords *lines)
{
    for (size_t i = 0; i < lines->count; i++) {
        const DwBillLine *line = (const DwBillLine *)dw_records_at(lines, i);
        char *amount = dw_dossier_amount(d, line->amount);
        char *name = dw_bill_line_name(line->name, line->kind, line->minutes, line->quantity);
        DwPaperCell cells[4] = {{.text = name}};
        for (int tier = DW_TIER_MINIMUM; tier <= DW_TIER_FULL; tier++)
            cells[1 + tier].text = tier >= line->tier ? amount : "–";
        dw_piece_table_row(table, cells);
        free(amount);
        free(name);
    }
}

void dw_bill_add_sum(const DwDossier *d, DwPaperTable *table, const char *name, const int64_t *amounts, size_t count,
                     bool total)
{
    DwPaperCell cells[4] = {{.text = name}};
    char *texts[3];
    for (size_t i = 0; i < count; i++)
        cells[table->count - count + i].text = texts[i] = dw_dossier_amount(d, amounts[i]);
    dw_piece_table_sum(table, cells, total);
    for (size_t i = 0; i < count; i++)
        free(texts[i]);
}

// Which options cost more than is usually spent on such a deck.
static void add_dear(DwDossier *d, const DwEstimate *estimate, const bool dear[3])
{
    static const char *const keys[] = {"minimum.dear", "recommended.dear", "full.dear"};
    char *value = dw_dossier_money(d, estimate->replacement_value);
    for (int tier = DW_TIER_MINIMUM; tier <= DW_TIER_FULL; tier++) {
        const DwDear about = {estimate->replacement_value != DW_AMOUNT_NONE, dear[tier]};
        char *text = dw_sentence(d, "estimate", keys[tier], &about, "value", value, NULL);
        dw_piece_paragraph(d->flow, text);
        free(text);
    }
    free(value);
}

// The share of SHARES at the same rate as WANTED; NULL for none.
static const DwTaxShare *same_share(const DwTaxShares *shares, const DwTaxShare *wanted)
{
    for (size_t i = 0; i < shares->count; i++)
        if (shares->shares[i].category == wanted->category && shares->shares[i].rate == wanted->rate)
            return &shares->shares[i];
    return NULL;
}

// A row of tax for each rate; the full option contains every line and so every rate.
static void add_option_taxes(const DwDossier *d, DwPaperTable *table, const DwTaxShares shares[3])
{
    const DwTaxShares *all = &shares[DW_TIER_FULL];
    for (size_t i = 0; i < all->count; i++) {
        int64_t tax[3] = {0};
        if (all->shares[i].category != 'S')
            continue;
        for (int tier = DW_TIER_MINIMUM; tier <= DW_TIER_FULL; tier++) {
            const DwTaxShare *share = same_share(&shares[tier], &all->shares[i]);
            tax[tier] = share ? share->tax : 0;
        }
        char *name = dw_paper_tax_name(d, all->shares[i].rate);
        dw_bill_add_sum(d, table, name, tax, 3, false);
        free(name);
    }
}

static DwStatus add_option_totals(DwDossier *d, DwPaperTable *table, const DwEstimate *estimate, DwMessage *message)
{
    int64_t net[3], gross[3], taxes = 0;
    bool dear[3];
    DwTaxShares shares[3] = {{0}};
    DwStatus status = DW_OK;
    for (int tier = DW_TIER_MINIMUM; status == DW_OK && tier <= DW_TIER_FULL; tier++) {
        DwTotals totals = {0};
        status = dw_estimate_totals(d->book, estimate->record.id, (DwTier)tier, &totals, &dear[tier], message);
        if (status == DW_OK)
            status = dw_estimate_shares(d->book, estimate->record.id, (DwTier)tier, &shares[tier], message);
        net[tier] = totals.net;
        gross[tier] = totals.gross;
        taxes += totals.tax;
    }
    if (status == DW_OK && taxes) {
        dw_bill_add_sum(d, table, dw_dossier_say(d, "paper", "net"), net, 3, false);
        add_option_taxes(d, table, shares);
    }
    if (status == DW_OK) {
        dw_bill_add_sum(d, table, dw_dossier_say(d, "paper", "total"), gross, 3, true);
        add_dear(d, estimate, dear);
    }
    for (int tier = DW_TIER_MINIMUM; tier <= DW_TIER_FULL; tier++)
        dw_tax_shares_clear(&shares[tier]);
    return status;
}

static DwStatus add_options(DwDossier *d, const DwEstimate *estimate, DwMessage *message)
{
    DwRecords lines;
    DwStatus status =
        dw_record_list(d->book, &dw_estimate_line_entity, "estimate_id", estimate->record.id, &lines, message);
    if (status != DW_OK)
        return status;
    dw_dossier_add_fixed(d, "estimate", "options", &lines.count);
    DwPaperTable table = dw_dossier_table(d, "estimate", option_columns, 4);
    add_option_lines(d, &table, &lines);
    dw_records_clear(&lines);
    return add_option_totals(d, &table, estimate, message);
}

// Which option of an estimate was answered, " (Recommended)"; "" for all of them, or none. The caller frees it.
static char *consent_option(const DwDossier *d, const DwConsent *consent)
{
    static const char *const keys[] = {
        [DW_TIER_MINIMUM] = "minimum", [DW_TIER_RECOMMENDED] = "recommended", [DW_TIER_FULL] = "full"};
    bool one = consent->estimate_id && consent->tier != DW_TIER_ALL;
    return one ? dw_text_format(" (%s)", dw_dossier_say(d, "estimate", keys[consent->tier])) : dw_memory_text("");
}

// "Ben agreed (Full), 180.00 EUR, telephone 555": the sentence of the answer, and how it came.
static char *consent_answer(const DwDossier *d, const DwConsent *consent)
{
    char *amount = dw_dossier_money(d, consent->amount), *how = dw_dossier_field(d, &consent->record, "how");
    bool up_to = consent->answer == DW_CONSENT_UP_TO && *amount;
    char *answer = consent->answer == DW_CONSENT_UP_TO && !up_to
                       ? dw_memory_text(dw_dossier_say(d, "choices", "consent.answer.agreed"))
                       : dw_dossier_field(d, &consent->record, "answer");
    char *with_amount = dw_text_replace(answer, "amount", amount);
    char *said = dw_text_replace(with_amount, "person", consent->person);
    const char *contact = consent->contact ? consent->contact : "";
    char *option = consent_option(d, consent);
    char *text = dw_text_format("%s%s%s%s%s%s%s%s", said, option, *amount && !up_to ? ", " : "", up_to ? "" : amount,
                                *how ? ", " : "", how, *how && *contact ? " " : "", *how ? contact : "");
    free(option);
    free(said);
    free(with_amount);
    free(answer);
    free(how);
    free(amount);
    return text;
}

static char *consent_text(const DwDossier *d, const DwConsent *consent)
{
    char *day = dw_dossier_time(consent->at), *answer = consent_answer(d, consent);
    const char *words = consent->words ? consent->words : "";
    char *what = *words ? dw_paper_words_fill(d->words, "paper", "consent.words", "what", answer, "words", words, NULL)
                        : dw_memory_text(answer);
    char *text = dw_paper_words_fill(d->words, "paper", "consent.line", "day", day, "what", what, NULL);
    free(what);
    free(answer);
    free(day);
    return text;
}

DwStatus dw_bill_add_consents(DwDossier *d, int64_t estimate, const char *until, DwMessage *message)
{
    DwRecords consents;
    DwStatus status = dw_dossier_records(d, &dw_consent_entity, &consents, message);
    bool headed = false;
    for (size_t i = 0; status == DW_OK && i < consents.count; i++) {
        const DwConsent *consent = (const DwConsent *)dw_records_at(&consents, i);
        bool of_another = estimate && consent->estimate_id && consent->estimate_id != estimate;
        if (of_another || (until && strcmp(consent->at, until) > 0))
            continue;
        char *text = consent_text(d, consent);
        if (!headed)
            dw_piece_heading(d->flow, dw_dossier_say(d, "paper", "consent"));
        headed = true;
        dw_piece_item(d->flow, text);
        free(text);
    }
    if (status == DW_OK)
        dw_records_clear(&consents);
    return status;
}

static void add_choice(DwDossier *d, const DwEstimate *estimate)
{
    if (estimate->state != DW_ESTIMATE_ISSUED)
        return;
    size_t choice = d->flow->count;
    dw_piece_heading(d->flow, dw_dossier_say(d, "estimate", "choice"));
    dw_piece_tick(d->flow, dw_dossier_say(d, "estimate", "choice.minimum"), false);
    dw_piece_tick(d->flow, dw_dossier_say(d, "estimate", "choice.recommended"), false);
    dw_piece_tick(d->flow, dw_dossier_say(d, "estimate", "choice.full"), false);
    char *none = dw_sentence(d, "estimate", "choice.none", estimate, NULL);
    dw_piece_tick(d->flow, none, false);
    free(none);
    char *owner = dw_paper_words_fill(d->words, "receipt", "signed.owner", "person", d->customer.name, NULL);
    dw_piece_signature(d->flow, owner, dw_dossier_say(d, "paper", "date"), NULL);
    free(owner);
    // What is ticked and signed stands on one page.
    for (size_t i = choice; i + 1 < d->flow->count; i++)
        d->flow->pieces[i].with_next = true;
}

static char *estimate_standing(const DwDossier *d, const DwEstimate *estimate)
{
    char *version = dw_text_format("%lld", (long long)estimate->version), *from = dw_dossier_day(estimate->issued_on);
    char *until = dw_dossier_day(estimate->valid_until);
    char *state = dw_dossier_field(d, &estimate->record, "state");
    char *key = dw_text_format("state.%s", state);
    char *text = dw_sentence(d, "estimate", key, estimate, "version", version, "from", from, "until", until, NULL);
    free(version);
    free(from);
    free(until);
    free(state);
    free(key);
    return text;
}

static void add_limits(DwDossier *d, const DwEstimate *estimate)
{
    static const char *const keys[] = {"charge", "charge.not_told", "charge.usual"};
    int64_t charge = dw_intake_amount(d->book, d->job.record.id, "money.estimate_charge");
    char *ceiling = dw_dossier_money(d, estimate->ceiling);
    char *amount = charge > 0 ? dw_dossier_money(d, charge) : dw_memory_text("");
    char *text = dw_sentence(d, "estimate", "ceiling", estimate, "amount", ceiling, NULL);
    dw_piece_paragraph(d->flow, text);
    free(text);
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        text = dw_sentence(d, "estimate", keys[i], NULL, "amount", amount, NULL);
        dw_piece_paragraph(d->flow, text);
        free(text);
    }
    free(amount);
    free(ceiling);
}

DwStatus dw_paper_estimate(DwDossier *d, DwMessage *message)
{
    DwEstimate estimate;
    dw_record_init(&estimate.record, &dw_estimate_entity);
    DwStatus status = dw_paper_newest(d, &estimate.record, true, message);
    if (status == DW_OK) {
        dw_dossier_add_head(d, dw_dossier_say(d, "estimate", "title"));
        status = dw_dossier_add_unsafe(d, message);
    }
    if (status == DW_OK) {
        char *standing = estimate_standing(d, &estimate);
        dw_piece_paragraph(d->flow, standing);
        free(standing);
        dw_dossier_add_section(d, "estimate", "found", d->job.fault ? d->job.fault : "");
        status = add_options(d, &estimate, message);
    }
    if (status == DW_OK) {
        dw_piece_paragraph(d->flow, estimate.words ? estimate.words : "");
        add_limits(d, &estimate);
        dw_dossier_add_cautions(d, DW_CAUTIONS_OF_WORK, "");
        status = dw_bill_add_consents(d, estimate.record.id, NULL, message);
    }
    if (status == DW_OK) {
        add_choice(d, &estimate);
        char *terms = dw_intake_setting(d->book, d->job.record.id, "shop.terms");
        dw_dossier_add_section(d, "receipt", "terms", terms);
        free(terms);
    }
    dw_record_clear(&estimate.record);
    return status;
}
