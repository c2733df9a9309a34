// SPDX-License-Identifier: MIT
// Elements stand in the order that the schema of UBL 2.1 asks for. The rules that are named are those of EN 16931-1.
#include "book/money/ubl.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/money/payment.h"
#include "book/shop/country.h"
#include "book/shop/currency.h"
#include "book/shop/settings.h"
#include "book/store/private.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

// What is said of the shop.
typedef enum { NAME, ADDRESS, PHONE, EMAIL, COUNTRY, TAX_NUMBER, ACCOUNT_NAME, SELLER_COUNT } Seller;

// What is written, and what it is written from.
typedef struct {
    DwText text;
    DwBook *book;
    DwInvoice invoice;
    DwRecords lines;
    DwTaxShares shares;
    int64_t deposits;
    const char *currency; // of ISO 4217
    bool credit;
    char *seller[SELLER_COUNT];
} Ubl;

// The shop as the invoice was issued by it. What the standard asks for and the shop did not say then is taken from its
// settings: nothing else was given out. Nor was it of an invoice from before such things were kept with it.
static void read_seller(Ubl *ubl)
{
    const DwInvoice *invoice = &ubl->invoice;
    const struct {
        const char *kept, *key;
        bool needed;
    } rows[SELLER_COUNT] = {
        [NAME] = {invoice->shop_name, "shop.name", true},
        [ADDRESS] = {invoice->shop_address, "shop.address"},
        [PHONE] = {invoice->shop_phone, "shop.phone"},
        [EMAIL] = {invoice->shop_email, "shop.email"},
        [COUNTRY] = {invoice->shop_country, "shop.country", true},
        [TAX_NUMBER] = {invoice->shop_tax_number, "shop.tax_number", true},
        [ACCOUNT_NAME] = {invoice->account_name, "shop.account_name"},
    };
    for (size_t i = 0; i < SELLER_COUNT; i++) {
        bool said = rows[i].kept && *rows[i].kept, open = rows[i].needed || !invoice->issued_at;
        ubl->seller[i] =
            said || !open ? dw_memory_text(said ? rows[i].kept : "") : dw_settings_text(ubl->book, rows[i].key);
    }
}

static void add_escaped(DwText *text, const char *value)
{
    for (const char *at = value; *at; at++) {
        if (*at == '&')
            dw_text_add(text, "&amp;");
        else if (*at == '<')
            dw_text_add(text, "&lt;");
        else if (*at == '>')
            dw_text_add(text, "&gt;");
        else if (*at == '"')
            dw_text_add(text, "&quot;");
        else
            dw_text_add(text, "%c", *at == '\r' || *at == '\t' ? ' ' : *at);
    }
}

static void begin(Ubl *ubl, const char *name)
{
    dw_text_add(&ubl->text, "<cac:%s>\n", name);
}

static void end(Ubl *ubl, const char *name)
{
    dw_text_add(&ubl->text, "</cac:%s>\n", name);
}

// The element NAME with VALUE, where there is one.
static void say(Ubl *ubl, const char *name, const char *value)
{
    if (!value || !*value)
        return;
    dw_text_add(&ubl->text, "<cbc:%s>", name);
    add_escaped(&ubl->text, value);
    dw_text_add(&ubl->text, "</cbc:%s>\n", name);
}

static void say_amount(Ubl *ubl, const char *name, int64_t amount)
{
    char *text = dw_money_text(amount, ubl->book->amount_digits);
    dw_text_add(&ubl->text, "<cbc:%s currencyID=\"%s\">%s</cbc:%s>\n", name, ubl->currency, text, name);
    free(text);
}

// A rate in per cent without needless zeros: "19", "5.5".
static void say_percent(Ubl *ubl, int64_t rate)
{
    char *text = dw_text_format("%.4f", 100.0 * (double)rate / DW_RATE_WHOLE);
    size_t length = strlen(text);
    while (text[length - 1] == '0')
        text[--length] = '\0';
    if (text[length - 1] == '.')
        text[length - 1] = '\0';
    say(ubl, "Percent", text);
    free(text);
}

static void say_tax_category(Ubl *ubl, const char *element, const DwTaxShare *share, const char *reason)
{
    begin(ubl, element);
    say(ubl, "ID", (char[]){share->category, '\0'});
    say_percent(ubl, share->rate);
    say(ubl, "TaxExemptionReason", reason);
    begin(ubl, "TaxScheme");
    say(ubl, "ID", "VAT");
    end(ubl, "TaxScheme");
    end(ubl, element);
}

// The lines of an address as far as there is a place for them: nobody says which of them is the town.
static void say_address(Ubl *ubl, const char *address, const char *country)
{
    static const char *const names[] = {"StreetName", "AdditionalStreetName"};
    DwText rest = {0};
    size_t count = 0;
    begin(ubl, "PostalAddress");
    for (const char *at = address ? address : ""; *at;) {
        size_t length = strcspn(at, "\r\n");
        char *line = dw_text_format("%.*s", (int)length, at);
        if (length && count < 2)
            say(ubl, names[count++], line);
        else if (length)
            dw_text_add(&rest, "%s%s", rest.length ? ", " : "", line);
        free(line);
        at += length;
        at += strspn(at, "\r\n");
    }
    if (rest.length) {
        begin(ubl, "AddressLine");
        say(ubl, "Line", rest.chars);
        end(ubl, "AddressLine");
    }
    dw_text_clear(&rest);
    begin(ubl, "Country");
    say(ubl, "IdentificationCode", country);
    end(ubl, "Country");
    end(ubl, "PostalAddress");
}

// A tax number that begins with a country's code is the one for value added tax (BR-CO-09); any other is the local one.
static bool is_vat_number(const char *number)
{
    char code[3] = {number[0], number[0] ? number[1] : '\0', '\0'};
    return dw_country_is_known(code) || strcmp(code, "EL") == 0 || strcmp(code, "XI") == 0;
}

static void say_tax_number(Ubl *ubl, const char *number)
{
    if (!*number)
        return;
    begin(ubl, "PartyTaxScheme");
    say(ubl, "CompanyID", number);
    begin(ubl, "TaxScheme");
    say(ubl, "ID", is_vat_number(number) ? "VAT" : "TAX");
    end(ubl, "TaxScheme");
    end(ubl, "PartyTaxScheme");
}

static void say_seller(Ubl *ubl)
{
    const char *number = ubl->seller[TAX_NUMBER], *name = ubl->seller[NAME];
    begin(ubl, "AccountingSupplierParty");
    begin(ubl, "Party");
    if (*number && !is_vat_number(number)) { // BR-CO-26
        begin(ubl, "PartyIdentification");
        say(ubl, "ID", number);
        end(ubl, "PartyIdentification");
    }
    say_address(ubl, ubl->seller[ADDRESS], ubl->seller[COUNTRY]);
    say_tax_number(ubl, number);
    begin(ubl, "PartyLegalEntity");
    say(ubl, "RegistrationName", name);
    end(ubl, "PartyLegalEntity");
    begin(ubl, "Contact");
    say(ubl, "Name", name);
    say(ubl, "Telephone", ubl->seller[PHONE]);
    say(ubl, "ElectronicMail", ubl->seller[EMAIL]);
    end(ubl, "Contact");
    end(ubl, "Party");
    end(ubl, "AccountingSupplierParty");
}

static void say_buyer(Ubl *ubl)
{
    const DwInvoice *invoice = &ubl->invoice;
    bool own = invoice->customer_country && *invoice->customer_country;
    begin(ubl, "AccountingCustomerParty");
    begin(ubl, "Party");
    say_address(ubl, invoice->customer_address, own ? invoice->customer_country : ubl->seller[COUNTRY]);
    begin(ubl, "PartyLegalEntity");
    say(ubl, "RegistrationName", invoice->customer_name);
    end(ubl, "PartyLegalEntity");
    end(ubl, "Party");
    end(ubl, "AccountingCustomerParty");
}

// The invoice that this one corrects (BG-3).
static DwStatus say_corrected(Ubl *ubl, DwMessage *message)
{
    if (!ubl->invoice.corrects_id)
        return DW_OK;
    DwInvoice original;
    dw_record_init(&original.record, &dw_invoice_entity);
    DwStatus status = dw_record_load(ubl->book, &original.record, ubl->invoice.corrects_id, message);
    char *number = dw_invoice_number(&original);
    if (status == DW_OK) {
        begin(ubl, "BillingReference");
        begin(ubl, "InvoiceDocumentReference");
        say(ubl, "ID", number);
        say(ubl, "IssueDate", original.issued_on);
        end(ubl, "InvoiceDocumentReference");
        end(ubl, "BillingReference");
    }
    free(number);
    dw_record_clear(&original.record);
    return status;
}

static void say_head(Ubl *ubl)
{
    const DwInvoice *invoice = &ubl->invoice;
    const char *root = ubl->credit ? "CreditNote" : "Invoice";
    char *number = dw_invoice_number(invoice);
    dw_text_add(
        &ubl->text,
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<%s xmlns=\"urn:oasis:names:specification:ubl:schema:xsd:%s-2\" "
        "xmlns:cac=\"urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2\" "
        "xmlns:cbc=\"urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2\">\n",
        root, root);
    say(ubl, "CustomizationID", "urn:cen.eu:en16931:2017"); // BT-24
    say(ubl, "ID", number);
    say(ubl, "IssueDate", invoice->issued_on);
    if (!ubl->credit)
        say(ubl, "DueDate", invoice->due_on);
    // UNTDID 1001: commercial invoice, credit note, corrected invoice (BT-3).
    if (ubl->credit)
        say(ubl, "CreditNoteTypeCode", "381");
    else
        say(ubl, "InvoiceTypeCode", invoice->corrects_id ? "384" : "380");
    say(ubl, "Note", invoice->words);
    say(ubl, "DocumentCurrencyCode", ubl->currency);
    free(number);
}

// Where to and by when it is to be paid. A credit note is settled against its invoice (BR-CO-25).
static void say_payment(Ubl *ubl)
{
    const DwInvoice *invoice = &ubl->invoice;
    if (!ubl->credit && invoice->account && *invoice->account) {
        bool iban = isalpha((unsigned char)invoice->account[0]) && isalpha((unsigned char)invoice->account[1]);
        char *plain = dw_memory_text(invoice->account), *to = plain;
        for (const char *from = invoice->account; *from; from++)
            if (!iban || *from != ' ')
                *to++ = *from;
        *to = '\0';
        begin(ubl, "PaymentMeans");
        say(ubl, "PaymentMeansCode", "30"); // UNTDID 4461: credit transfer
        begin(ubl, "PayeeFinancialAccount");
        say(ubl, "ID", plain);
        say(ubl, "Name", ubl->seller[ACCOUNT_NAME]);
        end(ubl, "PayeeFinancialAccount");
        end(ubl, "PaymentMeans");
        free(plain);
    }
    const char *terms = ubl->credit ? "Taken off the invoice that is named." : invoice->terms;
    if (terms && *terms) {
        begin(ubl, "PaymentTerms");
        say(ubl, "Note", terms);
        end(ubl, "PaymentTerms");
    }
}

static void say_taxes(Ubl *ubl, const DwTotals *totals)
{
    begin(ubl, "TaxTotal");
    say_amount(ubl, "TaxAmount", totals->tax);
    for (size_t i = 0; i < ubl->shares.count; i++) {
        const DwTaxShare *share = &ubl->shares.shares[i];
        begin(ubl, "TaxSubtotal");
        say_amount(ubl, "TaxableAmount", share->amount);
        say_amount(ubl, "TaxAmount", share->tax);
        say_tax_category(ubl, "TaxCategory", share, share->category == 'E' ? ubl->invoice.exempt_reason : NULL);
        end(ubl, "TaxSubtotal");
    }
    end(ubl, "TaxTotal");
}

static void say_totals(Ubl *ubl, const DwTotals *totals)
{
    begin(ubl, "LegalMonetaryTotal");
    say_amount(ubl, "LineExtensionAmount", totals->net); // BR-CO-10
    say_amount(ubl, "TaxExclusiveAmount", totals->net);  // BR-CO-13
    say_amount(ubl, "TaxInclusiveAmount", totals->gross);
    if (ubl->deposits)
        say_amount(ubl, "PrepaidAmount", ubl->deposits);
    say_amount(ubl, "PayableAmount", totals->gross - ubl->deposits); // BR-CO-16
    end(ubl, "LegalMonetaryTotal");
}

// A count without needless zeros, never in powers of ten.
static char *count_text(double count)
{
    char *text = dw_text_format("%.6f", count);
    size_t length = strlen(text);
    while (text[length - 1] == '0')
        text[--length] = '\0';
    if (text[length - 1] == '.')
        text[length - 1] = '\0';
    return text;
}

// How many at which price a line's amount is. A price is not below 0 (BR-27): what is taken off is a count below 0.
// Minutes are at a price for 60 of them (BT-149).
typedef struct {
    double count;
    const char *unit; // UN/ECE recommendation 20
    int64_t price;
    bool hourly;
} Priced;

static Priced priced(const DwBillLine *line)
{
    int64_t amount = 0;
    bool labour = line->kind == DW_LINE_LABOUR && line->minutes > 0 && line->price != DW_AMOUNT_NONE;
    if (labour && line->price >= 0 && dw_money_labour(line->minutes, line->price, &amount) && amount == line->amount)
        return (Priced){(double)line->minutes, "MIN", line->price, true};
    double count = isnan(line->quantity) ? 1 : line->quantity;
    int64_t sign = line->price < 0 ? -1 : 1;
    if (!labour && line->price != DW_AMOUNT_NONE && dw_money_times(line->price, count, &amount) &&
        amount == line->amount)
        return (Priced){count * (double)sign, "C62", line->price * sign, false};
    return (Priced){line->amount < 0 ? -1 : 1, "C62", line->amount < 0 ? -line->amount : line->amount, false};
}

static void say_line(Ubl *ubl, const DwBillLine *line, size_t number)
{
    const char *element = ubl->credit ? "CreditNoteLine" : "InvoiceLine";
    const char *quantity = ubl->credit ? "CreditedQuantity" : "InvoicedQuantity";
    DwTaxShare tax = dw_bill_line_tax(line, ubl->invoice.tax_rate);
    Priced price = priced(line);
    char *id = dw_text_format("%zu", number), *count = count_text(price.count);
    begin(ubl, element);
    say(ubl, "ID", id);
    dw_text_add(&ubl->text, "<cbc:%s unitCode=\"%s\">%s</cbc:%s>\n", quantity, price.unit, count, quantity);
    say_amount(ubl, "LineExtensionAmount", line->amount);
    begin(ubl, "Item");
    say(ubl, "Name", line->name);
    say_tax_category(ubl, "ClassifiedTaxCategory", &tax, NULL);
    end(ubl, "Item");
    begin(ubl, "Price");
    say_amount(ubl, "PriceAmount", price.price);
    if (price.hourly)
        dw_text_add(&ubl->text, "<cbc:BaseQuantity unitCode=\"MIN\">60</cbc:BaseQuantity>\n");
    end(ubl, "Price");
    end(ubl, element);
    free(id);
    free(count);
}

static bool has_category(const Ubl *ubl, char category)
{
    for (size_t i = 0; i < ubl->shares.count; i++)
        if (ubl->shares.shares[i].category == category)
            return true;
    return false;
}

// What the standard asks for beyond what a printed invoice needs.
static DwStatus check(const Ubl *ubl, DwMessage *message)
{
    static const struct {
        Seller which;
        const char *key, *rule;
    } needed[] = {{NAME, "shop.name", "BR-06"},
                  {COUNTRY, "shop.country", "BR-09"},
                  {TAX_NUMBER, "shop.tax_number", "BR-S-02, BR-Z-02, BR-E-02"}};
    const char *country = ubl->invoice.customer_country;
    if (ubl->invoice.state != DW_INVOICE_ISSUED)
        return dw_fail(message, DW_BAD_INPUT, "The invoice is still a draft. Issue it first.");
    for (size_t i = 0; i < sizeof needed / sizeof *needed; i++)
        if (!*ubl->seller[needed[i].which])
            return dw_fail(message, DW_BAD_INPUT,
                           "An electronic invoice needs the setting %s (EN 16931, %s). 'deckwright book settings %s=…' "
                           "sets it.",
                           needed[i].key, needed[i].rule, needed[i].key);
    if (dw_currency_digits(ubl->currency) < 0)
        return dw_fail(
            message, DW_BAD_INPUT,
            "An electronic invoice needs its currency by a code of ISO 4217 (BR-05), and this one is in \"%s\". "
            "Set money.currency to the code, such as EUR.",
            ubl->currency);
    if (ubl->book->amount_digits > 2)
        return dw_fail(message, DW_BAD_INPUT,
                       "EN 16931 takes amounts of at most two decimals (BR-DEC-09 and others); %s has %d.",
                       ubl->currency, ubl->book->amount_digits);
    if (country && *country && !dw_country_is_known(country))
        return dw_fail(message, DW_BAD_INPUT, "The customer's country \"%s\" is no code of ISO 3166-1 (BR-11).",
                       country);
    if (has_category(ubl, 'E') && !(ubl->invoice.exempt_reason && *ubl->invoice.exempt_reason))
        return dw_fail(
            message, DW_BAD_INPUT,
            "The invoice does not say why no tax is charged on some of it (BR-E-10). Set money.exempt_reason "
            "before the next is drafted.");
    return DW_OK;
}

#define SUM_OF(kinds, other) "coalesce(sum(CASE WHEN " kinds " THEN amount ELSE " other " END), 0)"

// What was paid before is the deposits, less what went back of them.
static DwStatus read(Ubl *ubl, int64_t id, DwMessage *message)
{
    DwStatus status = dw_record_load(ubl->book, &ubl->invoice.record, id, message);
    if (status == DW_OK)
        status = dw_record_list(ubl->book, &dw_invoice_line_entity, "invoice_id", id, &ubl->lines, message);
    if (status == DW_OK)
        status = dw_bill_shares(&ubl->lines, DW_TIER_FULL, ubl->invoice.tax_rate, &ubl->shares, message);
    if (status == DW_OK)
        status = dw_query_number(ubl->book,
                                 "SELECT max(0, min(" SUM_OF("kind = 'deposit'", "0") ", " SUM_OF(
                                     "kind <> 'refund'", "-amount") ")) FROM payment WHERE invoice_id = ?",
                                 id, &ubl->deposits, message);
    read_seller(ubl);
    ubl->credit = dw_invoice_is_credit(&ubl->invoice);
    ubl->currency = ubl->invoice.currency ? ubl->invoice.currency : "";
    return status;
}

DwStatus dw_ubl_write(DwBook *book, int64_t invoice, char **xml, DwMessage *message)
{
    Ubl ubl = {.book = book};
    dw_record_init(&ubl.invoice.record, &dw_invoice_entity);
    DwStatus status = read(&ubl, invoice, message);
    if (status == DW_OK)
        status = check(&ubl, message);
    if (status == DW_OK) {
        say_head(&ubl);
        status = say_corrected(&ubl, message);
    }
    if (status == DW_OK) {
        DwTotals totals = dw_bill_totals(&ubl.shares);
        say_seller(&ubl);
        say_buyer(&ubl);
        begin(&ubl, "Delivery");
        say(&ubl, "ActualDeliveryDate", ubl.invoice.supplied_on);
        end(&ubl, "Delivery");
        say_payment(&ubl);
        say_taxes(&ubl, &totals);
        say_totals(&ubl, &totals);
        for (size_t i = 0; i < ubl.lines.count; i++)
            say_line(&ubl, (const DwBillLine *)dw_records_at(&ubl.lines, i), i + 1);
        dw_text_add(&ubl.text, "</%s>\n", ubl.credit ? "CreditNote" : "Invoice");
        *xml = dw_text_take(&ubl.text);
    }
    for (size_t i = 0; i < SELLER_COUNT; i++)
        free(ubl.seller[i]);
    dw_text_clear(&ubl.text);
    dw_tax_shares_clear(&ubl.shares);
    dw_records_clear(&ubl.lines);
    dw_record_clear(&ubl.invoice.record);
    return status;
}
