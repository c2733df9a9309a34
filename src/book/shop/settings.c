// SPDX-License-Identifier: MIT
#include "book/shop/settings.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "book/shop/currency.h"
#include "book/shop/people.h"
#include "book/store/private.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define CURRENCY_KEY "money.currency"

static const DwSetting rows[] = {
    {{"shop.name", "Name of the shop", DW_FIELD_TEXT}, ""},
    {{"shop.address", "Address", DW_FIELD_TEXT, .lines = true}, ""},
    {{"shop.phone", "Telephone", DW_FIELD_TEXT}, ""},
    {{"shop.email", "Email", DW_FIELD_TEXT}, ""},
    {{"shop.country", "Country", DW_FIELD_TEXT,
      .help = "Its code of ISO 3166-1, such as DE; an electronic invoice needs it."},
     "",
     dw_setting_check_country},
    {{"shop.tax_number", "Tax number", DW_FIELD_TEXT}, ""},
    {{"shop.account", "Bank account", DW_FIELD_TEXT,
      .help = "An IBAN or another account number; printed on the invoice."},
     "",
     dw_setting_check_account},
    {{"shop.account_name", "Account holder and bank", DW_FIELD_TEXT}, ""},
    {{"shop.terms", "Terms", DW_FIELD_TEXT, .lines = true, .help = "Printed on the intake receipt and the estimate."},
     ""},
    {{"shop.logo", "Logo", DW_FIELD_PATH, .attached = true,
      .help = "The path of a PNG or JPEG file, or attachments/NAME in the book."},
     "",
     dw_setting_check_picture},
    {{"shop.colour", "Colour", DW_FIELD_TEXT, .help = "Of the papers' headings, as #rrggbb."},
     "",
     dw_setting_check_colour},
    {{"paper.size", "Paper", DW_FIELD_CHOICE, .choices = "A4|Letter"}, "A4"},
    {{"paper.language", "Language", DW_FIELD_TEXT, .help = "Of the papers' text, such as en-GB."},
     "en",
     dw_setting_check_language},
    {{"label.size", "Size of a label", DW_FIELD_TEXT,
      .help = "Width x height in mm, such as 62 x 29: each label alone, for a label printer. With \"sheet\" behind it, "
              "70 x 37 sheet: as many as the paper holds. Without a size six are cut out of the paper."},
     "",
     dw_setting_check_label},
    {{"paper.words", "Words of the papers", DW_FIELD_PATH,
      .help = "The path of a file with the shop's own words; 'deckwright report words' prints all there are."},
     "",
     dw_setting_check_file},
    {{CURRENCY_KEY, "Currency", DW_FIELD_TEXT,
      .help = "Its code of ISO 4217, such as EUR, which says its decimals too; or a sign to print."},
     "EUR",
     dw_setting_check_currency},
    {{"money.digits", "Decimals of the currency", DW_FIELD_INTEGER,
      .help = "Set once, before the first amount is written: the book keeps whole minor units."},
     "2"},
    {{"money.tax_rate", "Tax rate", DW_FIELD_RATE, .help = "In per cent of the net amount."}, "0"},
    {{"money.exempt_reason", "Why no tax is charged", DW_FIELD_TEXT,
      .help = "Printed where a line is exempt or the tax rate is 0, in the words that the local tax law asks for."},
     ""},
    {{"money.payment_days", "To be paid within days", DW_FIELD_INTEGER, .high = 3650,
      .help = "0 for at once; an invoice may say otherwise."},
     "14"},
    {{"money.payment_terms", "Terms of payment", DW_FIELD_TEXT, .lines = true, .help = "Printed on the invoice."}, ""},
    {{"money.labour_rate", "Labour for an hour", DW_FIELD_AMOUNT, .not_negative = true}, "0"},
    {{"money.minimum_charge", "Minimum charge", DW_FIELD_AMOUNT, .not_negative = true}, "0"},
    {{"money.estimate_charge", "Charge for an estimate", DW_FIELD_AMOUNT, .not_negative = true,
      .help = "Told in writing before the deck is opened."},
     "0"},
    {{"estimate.valid_days", "An estimate holds for days", DW_FIELD_INTEGER, .high = 36500}, "30"},
    {{"estimate.uneconomic_rate", "Uneconomic above", DW_FIELD_RATE,
      .help = "In per cent of what an equivalent working deck costs."},
     "50"},
    {{"warranty.days", "Warranty in days", DW_FIELD_INTEGER, .high = 36500}, "90"},
    {{"warranty.covers", "The warranty covers", DW_FIELD_TEXT, .lines = true}, ""},
    {{"warranty.excludes", "The warranty excludes", DW_FIELD_TEXT, .lines = true}, ""},
    {{"storage.free_days", "Storage free for days", DW_FIELD_INTEGER, .high = 36500}, "14"},
    {{"storage.daily_charge", "Storage for a day", DW_FIELD_AMOUNT, .not_negative = true}, "0"},
    {{"storage.notices", "Notices before a deck is disposed of", DW_FIELD_INTEGER, .high = 100,
      .help = "By the shop's own terms and the local law; 0: no deck is ever disposed of."},
     "0"},
    {{"storage.wait_days", "Days to wait after the last notice", DW_FIELD_INTEGER, .high = 36500,
      .help = "By the shop's own terms and the local law."},
     "0"},
    {{"storage.terms", "Terms for decks left behind", DW_FIELD_TEXT, .lines = true,
      .help = "Printed on the intake receipt and the last notice. A deck is disposed of only by the terms that stood "
              "when it "
              "was taken in."},
     ""},
    {{"service.months", "Next service after months", DW_FIELD_INTEGER, .high = 1200}, "24"},
    {{"retention.customer_years", "Customers' data kept for years", DW_FIELD_INTEGER, .high = 100,
      .help = "After the last job; the time in which a dispute may still come."},
     "6"},
    {{"retention.invoice_years", "Invoices kept for years", DW_FIELD_INTEGER, .high = 100,
      .help = "As the local tax law asks; a name on an invoice is kept as long."},
     "7"},
    {{"retention.photo_months", "Photographs kept for months", DW_FIELD_INTEGER, .high = 1200,
      .help = "After the warranty has ended, unless the owner agreed to more."},
     "12"},
    {{"live.input", "Live input used last", DW_FIELD_TEXT,
      .help = "By the name that the sound server has for it. Live offers it first."},
     ""},
    {{"people.list", "People at the bench", DW_FIELD_TEXT, .lines = true,
      .help = "One a line: a name, counter, technician or owner, and a mark from 1 to 12, as in Ines | owner | 3."},
     "",
     dw_people_check},
    {{"backup.folder", "Backups go to", DW_FIELD_PATH,
      .help = "A folder on another disk or a stick, empty or with an earlier backup of this book."},
     ""},
    {{"backup.remind_days", "A backup is asked for after days", DW_FIELD_INTEGER, .high = 365,
      .help = "When the last one is as old; 0 never asks."},
     "7"},
};

const DwSetting *dw_settings_at(size_t index)
{
    return index < sizeof rows / sizeof *rows ? &rows[index] : NULL;
}

const DwSetting *dw_settings_find(const char *key)
{
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if (strcmp(rows[i].field.key, key) == 0)
            return &rows[i];
    return NULL;
}

// The amounts in the book would change their meaning with the number of decimals.
static DwStatus count_amounts(DwBook *book, int64_t *written, DwMessage *message)
{
    return dw_query_number(
        book,
        "SELECT (SELECT count(*) FROM estimate_line) + (SELECT count(*) FROM invoice_line) + (SELECT count(*) FROM "
        "payment) + (SELECT count(*) FROM stock WHERE price IS NOT NULL OR cost IS NOT NULL) + (SELECT count(*) FROM "
        "part WHERE price IS NOT NULL) + (SELECT count(*) FROM consent WHERE amount IS NOT NULL) + (SELECT count(*) "
        "FROM intake WHERE ceiling IS NOT NULL OR contact_before IS NOT NULL)",
        0, written, message);
}

static DwStatus check_digits(DwBook *book, int digits, DwMessage *message)
{
    int64_t written = 0;
    DwStatus status = count_amounts(book, &written, message);
    if (status == DW_OK && written && digits != book->amount_digits)
        return dw_fail(message, DW_BAD_INPUT, "Amounts are in the book already; their decimals cannot be changed now.");
    return status;
}

#define CODED "currency GLOB '[A-Z][A-Z][A-Z]'"

// An owner who was told an amount was told it in the currency of that day, which stands on no paper but the setting's.
static DwStatus check_told(DwBook *book, const char *now, const char *text, DwMessage *message)
{
    int64_t told = 0;
    DwStatus status = dw_query_number(
        book,
        "SELECT (SELECT count(*) FROM estimate WHERE state <> 'draft') + (SELECT count(*) FROM payment) + (SELECT "
        "count(*) FROM consent WHERE amount IS NOT NULL) + (SELECT count(*) FROM intake WHERE ceiling IS NOT NULL OR "
        "contact_before IS NOT NULL OR estimate_charge_told OR storage_charge_told) + (SELECT count(*) FROM notice) + "
        "(SELECT count(*) FROM disposal WHERE amount IS NOT NULL)",
        0, &told, message);
    if (status == DW_OK && told)
        status = dw_fail(message, DW_BAD_INPUT,
                         "Owners were told amounts in %s (estimates, answers, deposits, receipts, notices); the book's "
                         "currency cannot be changed now. Start a new book for %s.",
                         now, *text ? text : dw_said("another currency"));
    return status;
}

// Ten pounds do not become ten euros by changing a setting, nor by a sign in the place of the code.
static DwStatus check_currency(DwBook *book, const char *text, DwMessage *message)
{
    int64_t invoices = 0, others = 0;
    DwQuery query = dw_query_begin(book, "SELECT count(*), sum(" CODED " AND currency <> ?1), max(CASE WHEN " CODED
                                         " THEN currency ELSE '' END) FROM invoice WHERE state = 'issued'");
    dw_query_bind_text(&query, text);
    char *now = dw_settings_text(book, CURRENCY_KEY), *issued = NULL;
    if (dw_query_step(&query)) {
        invoices = dw_query_integer(&query, 0);
        others = dw_query_integer(&query, 1);
        issued = dw_memory_text(dw_query_text(&query, 2));
    }
    DwStatus status = dw_query_end(&query, message);
    bool differs = strcmp(now, text) != 0, moves = differs && (others > 0 || dw_currency_digits(text) < 0);
    if (status == DW_OK && invoices && moves)
        status = dw_fail(message, DW_BAD_INPUT,
                         "Invoices in %s are in the book; its currency cannot be changed now. Start a new book for %s.",
                         *issued ? issued : now, *text ? text : dw_said("another currency"));
    // A sign may still become the code that it stood for.
    if (status == DW_OK && differs && (dw_currency_is_code(now) || dw_currency_digits(text) < 0))
        status = check_told(book, now, text, message);
    free(now);
    free(issued);
    return status;
}

// A code of ISO 4217 says its decimals: neither may be set against the other. *DIGITS is what will hold, or -1.
static DwStatus read_digits(DwBook *book, const char *key, const char *text, int *digits, DwMessage *message)
{
    *digits = -1;
    if (strcmp(key, CURRENCY_KEY) == 0) {
        *digits = dw_currency_digits(text);
        DwStatus status = check_currency(book, text, message);
        return status == DW_OK && *digits >= 0 ? check_digits(book, *digits, message) : status;
    }
    if (strcmp(key, DW_BOOK_DIGITS_KEY) != 0)
        return DW_OK;
    if (strlen(text) != 1 || *text < '0' || *text > '4')
        return dw_fail(message, DW_BAD_INPUT, "A currency has 0 to 4 decimals.");
    char *currency = dw_settings_text(book, CURRENCY_KEY);
    int of_code = dw_currency_digits(currency);
    DwStatus status = DW_OK;
    if (of_code >= 0 && of_code != *text - '0')
        status = dw_fail(message, DW_BAD_INPUT, "%s has %d decimals by ISO 4217. Set the currency, and they follow.",
                         currency, of_code);
    free(currency);
    *digits = *text - '0';
    return status == DW_OK ? check_digits(book, *digits, message) : status;
}

static DwStatus store(DwBook *book, const char *key, const char *text, DwMessage *message)
{
    DwQuery query = dw_query_begin(book, "INSERT INTO setting (key, value) VALUES (?1, ?2) "
                                         "ON CONFLICT (key) DO UPDATE SET value = ?2");
    dw_query_bind_text(&query, key);
    dw_query_bind_text(&query, text);
    return dw_query_finish(&query, message);
}

static DwStatus change(DwBook *book, const char *key, const char *text, DwMessage *message)
{
    char *old = dw_settings_text(book, key);
    DwStatus status = store(book, key, text, message);
    if (status == DW_OK && strcmp(old, text) != 0)
        status = dw_journal_add(book, "setting", 0, key, old, text, false, message);
    free(old);
    return status;
}

// Names the settings of KEY's group ("money."), or all groups for one that there is not: all keys would fill a page.
static DwStatus refuse_key(const char *key, DwMessage *message)
{
    size_t length = strcspn(key, "."), before = 0;
    DwText own = {0}, groups = {0};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const char *known = rows[i].field.key;
        size_t group = strcspn(known, ".");
        if (group == length && strncmp(known, key, length) == 0)
            dw_text_add(&own, "%s%s", own.length ? ", " : "", known);
        if (!i || before != group || strncmp(known, rows[i - 1].field.key, group) != 0)
            dw_text_add(&groups, "%s%.*s", i ? ", " : "", (int)group, known);
        before = group;
    }
    DwStatus status = own.length
                          ? dw_fail(message, DW_BAD_INPUT, "There is no setting \"%s\". There are: %s.", key, own.chars)
                          : dw_fail(message, DW_BAD_INPUT,
                                    "There is no setting \"%.*s\". There are groups of them: %s. 'deckwright book "
                                    "settings' lists all.",
                                    dw_text_whole(key, 100), key, groups.chars);
    dw_text_clear(&own);
    dw_text_clear(&groups);
    return status;
}

DwStatus dw_settings_set(DwBook *book, const char *key, const char *text, DwMessage *message)
{
    const DwSetting *setting = dw_settings_find(key);
    if (!setting)
        return refuse_key(key, message);
    int digits = -1;
    DwStatus status = dw_field_check(book, &setting->field, text, message);
    if (status == DW_OK && setting->check)
        status = setting->check(book, &setting->field, text, message);
    if (status == DW_OK)
        status = read_digits(book, key, text, &digits, message);
    if (status == DW_OK)
        status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    status = change(book, key, text, message);
    if (status == DW_OK && digits >= 0 && strcmp(key, CURRENCY_KEY) == 0)
        status = change(book, DW_BOOK_DIGITS_KEY, (char[]){(char)('0' + digits), '\0'}, message);
    status = dw_book_end(book, status, message);
    if (status == DW_OK && digits >= 0)
        book->amount_digits = digits;
    return status;
}

static char *stored(DwBook *book, const char *key, const char *preset)
{
    DwQuery query = dw_query_begin(book, "SELECT value FROM setting WHERE key = ?");
    dw_query_bind_text(&query, key);
    char *text = dw_memory_text(dw_query_step(&query) ? dw_query_text(&query, 0) : preset);
    dw_query_end(&query, NULL);
    return text;
}

char *dw_settings_text(DwBook *book, const char *key)
{
    const DwSetting *setting = dw_settings_find(key);
    assert(setting);
    return stored(book, key, setting->preset);
}

// What the first change after MOMENT took away stood at MOMENT.
char *dw_settings_text_at(DwBook *book, const char *key, const char *moment)
{
    DwQuery query = dw_query_begin(book, "SELECT old_value FROM journal WHERE entity = 'setting' AND field = ? "
                                         "AND at > ? ORDER BY id LIMIT 1");
    dw_query_bind_text(&query, key);
    dw_query_bind_text(&query, moment);
    char *text = dw_query_step(&query) ? dw_memory_text(dw_query_text(&query, 0)) : NULL;
    dw_query_end(&query, NULL);
    return text ? text : dw_settings_text(book, key);
}

// No row of the table above: whatever lists, shows or exports settings cannot meet it.
static const char password_key[] = "bench.password_hash";

char *dw_settings_password_hash(DwBook *book)
{
    return stored(book, password_key, "");
}

DwStatus dw_settings_set_password_hash(DwBook *book, const char *hash, DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    status = store(book, password_key, hash, message);
    if (status == DW_OK)
        status = dw_journal_add(book, "setting", 0, password_key, "", *hash ? "set" : "taken away", false, message);
    return dw_book_end(book, status, message);
}

// The setting as a plain number; NAN when it is empty.
static double number_of(DwBook *book, const char *key)
{
    char *text = dw_settings_text(book, key);
    double value = NAN;
    dw_text_number(text, &value);
    free(text);
    return value;
}

int64_t dw_settings_integer(DwBook *book, const char *key)
{
    double value = number_of(book, key);
    return isnan(value) ? 0 : (int64_t)value;
}

int64_t dw_settings_amount(DwBook *book, const char *key)
{
    char *text = dw_settings_text(book, key);
    int64_t amount = DW_AMOUNT_NONE;
    if (*text)
        dw_money_read(text, book->amount_digits, &amount, NULL);
    free(text);
    return amount;
}

int64_t dw_settings_rate(DwBook *book, const char *key)
{
    double value = number_of(book, key);
    return isnan(value) ? 0 : llround(value * (DW_RATE_WHOLE / 100));
}
