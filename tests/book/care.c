// SPDX-License-Identifier: MIT
#include "book/store/attachment.h"
#include "book/care/erase.h"
#include "book/care/export.h"
#include "book/care/check.h"
#include "book/money/consent.h"
#include "book/job/intake.h"
#include "book/money/invoice.h"
#include "book/store/journal.h"
#include "book/job/measurement.h"
#include "book/store/private.h"
#include "book/entry/search.h"
#include "book/shop/settings.h"
#include "shop.h"

#include <jansson.h>
#include <sys/stat.h>

static char *read_file(const char *path, size_t *length)
{
    FILE *file = fopen(path, "rb");
    if (!file)
        return NULL;
    char *bytes = NULL;
    size_t room = 0, used = 0, got;
    do {
        bytes = dw_memory_resize(bytes, room += 65536, 1);
        got = fread(bytes + used, 1, room - used - 1, file);
        used += got;
    } while (got);
    fclose(file);
    bytes[used] = '\0';
    *length = used;
    return bytes;
}

static void attach(DwBook *book, int64_t job, DwAttachmentKind kind, bool personal, const char *content)
{
    DwAttachment attachment;
    dw_record_init(&attachment.record, &dw_attachment_entity);
    attachment.job_id = job;
    attachment.kind = (int)kind;
    attachment.personal = personal;
    attachment.caption = dw_memory_text(personal ? "Quetzalina at home" : "a \"caption\", with a comma");
    ck_book(dw_attachment_add_bytes(book, &attachment, "Quetzalina.JPG", content, strlen(content), message));
    dw_record_clear(&attachment.record);
}

// A customer all of whose data carries the word Quetzalina, and one bystander.
static int64_t fill_shop(DwBook *book)
{
    int64_t job = shop_first_job(book), other = shop_customer(book, "Bystander");
    DwCustomer customer;
    dw_record_init(&customer.record, &dw_customer_entity);
    ck_book(dw_record_load(book, &customer.record, 1, message));
    static const char *const keys[] = {"phone", "email", "address", "note", "may_collect", "name"};
    for (size_t i = 0; i < 6; i++)
        ck_book(dw_record_set(book, &customer.record, keys[i], "Quetzalina", message));
    ck_book(dw_record_save(book, &customer.record, message));
    ck_book(dw_record_set(book, &customer.record, "phone", "other", message)); // the journal keeps the old one
    ck_book(dw_record_save(book, &customer.record, message));
    dw_record_clear(&customer.record);
    DwIntake intake;
    dw_record_init(&intake.record, &dw_intake_entity);
    intake.job_id = job;
    intake.words = dw_memory_text("Quetzalina says it growls");
    intake.at = dw_memory_text("2026-03-01T10:00:00Z");
    ck_book(dw_record_save(book, &intake.record, message));
    dw_record_clear(&intake.record);
    ck_book(dw_job_tell(book, job, DW_ROUTE_TELEPHONE, "told Quetzalina", message));
    DwConsent consent;
    dw_record_init(&consent.record, &dw_consent_entity);
    consent.job_id = job;
    consent.amount = 5000;
    consent.person = dw_memory_text("Quetzalina");
    ck_book(dw_consent_log(book, &consent, message));
    dw_record_clear(&consent.record);
    DwSheet *sheet = NULL;
    ck_book(dw_measurement_by_hand("shop.lift", "Lift", "3 s", 0.1, &sheet, message));
    DwMeasurement measurement;
    dw_record_init(&measurement.record, &dw_measurement_entity);
    measurement.job_id = job;
    measurement.phase = DW_PHASE_AS_LEFT;
    ck_book(dw_measurement_save(book, sheet, &measurement, message));
    dw_sheet_free(sheet);
    dw_record_clear(&measurement.record);
    attach(book, job, DW_ATTACHMENT_SIGNATURE, false, "Quetzalina's hand");
    attach(book, job, DW_ATTACHMENT_PHOTO, true, "Quetzalina's living room");
    attach(book, job, DW_ATTACHMENT_PHOTO, false, "the motor");
    (void)other;
    return job;
}

static int64_t issue_invoice(DwBook *book, int64_t job)
{
    DwInvoice invoice;
    dw_record_init(&invoice.record, &dw_invoice_entity);
    ck_book(dw_settings_set(book, "money.exempt_reason", "Small business.", message));
    ck_book(dw_invoice_draft(book, job, 0, DW_TIER_MINIMUM, &invoice, message));
    DwBillLine line;
    dw_record_init(&line.record, &dw_invoice_line_entity);
    line.bill_id = invoice.record.id;
    line.name = dw_memory_text("service");
    line.amount = 5000;
    ck_book(dw_bill_add(book, &line, message));
    int64_t id = invoice.record.id;
    ck_book(dw_invoice_issue(book, id, message));
    dw_record_clear(&line.record);
    dw_record_clear(&invoice.record);
    return id;
}

// Whether any file of the book still holds WORD, whatever the tables say.
static bool holds(const char *folder, const char *word)
{
    static const char *const names[] = {"book.sqlite", "book.sqlite-wal"};
    bool found = false;
    for (size_t i = 0; i < 2; i++) {
        char *path = dw_text_format("%s/%s", folder, names[i]);
        size_t length = 0;
        char *bytes = read_file(path, &length);
        found = found || (bytes && memmem(bytes, length, word, strlen(word)));
        free(bytes);
        free(path);
    }
    return found;
}

static size_t count_rows(DwBook *book, const DwEntity *entity)
{
    DwRecords records;
    ck_book(dw_record_list(book, entity, NULL, 0, &records, message));
    size_t count = records.count;
    dw_records_clear(&records);
    return count;
}

START_TEST(an_erased_customer_is_gone_and_the_deck_is_not)
{
    setenv("TZ", "UTC", 1);
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    dw_book_set_now(book, "2026-03-01T10:00:00Z");
    int64_t job = fill_shop(book);
    issue_invoice(book, job);
    DwErasure erasure;
    ck_refused(dw_erase_customer(book, 1, &erasure, message), "Job 0001");
    ck_book(dw_job_move(book, job, DW_JOB_HANDED_OVER, "", "", message));
    ck_book(dw_erase_customer(book, 1, &erasure, message));
    ck_assert_uint_eq(erasure.attachments, 2);
    ck_assert_uint_eq(erasure.invoices, 1);             // the tax law still wants the name on it
    ck_assert_str_eq(erasure.keep_until, "2033-03-01"); // seven years after
    DwHits hits;
    ck_book(dw_search_words(book, "quetzalina", 9, &hits, message));
    ck_assert_uint_eq(hits.count, 0);
    dw_hits_clear(&hits);
    // When the time is over the name goes from the invoice too, and then nothing of it is left in any file.
    dw_book_set_now(book, "2033-03-01T10:00:00Z");
    DwDueList due;
    ck_book(dw_due_list_read(book, &due, message));
    ck_assert_uint_eq(due.count, 2); // the picture of the motor, and
    ck_assert_ptr_eq(due.items[1].entity, &dw_invoice_entity);
    dw_due_list_clear(&due);
    ck_assert(holds(folder, "Quetzalina"));
    ck_book(dw_erase_customer(book, 1, &erasure, message));
    ck_assert_uint_eq(erasure.invoices, 0);
    ck_assert(!holds(folder, "Quetzalina"));
    ck_assert(!holds(folder, "quetzalina"));
    ck_assert(holds(folder, "Bystander"));
    // The technical history stays.
    ck_assert_uint_eq(count_rows(book, &dw_deck_entity), 1);
    ck_assert_uint_eq(count_rows(book, &dw_job_entity), 1);
    ck_assert_uint_eq(count_rows(book, &dw_kept_reading_entity), 1);
    ck_assert_uint_eq(count_rows(book, &dw_consent_entity), 1);
    ck_assert_uint_eq(count_rows(book, &dw_attachment_entity), 1);
    ck_assert(holds(folder, "with a comma"));
    DwCustomer customer;
    dw_record_init(&customer.record, &dw_customer_entity);
    ck_book(dw_record_load(book, &customer.record, 1, message));
    ck_assert_str_eq(customer.name, DW_JOURNAL_ERASED);
    ck_assert_str_eq(customer.erased_on, "2033-03-01");
    dw_record_clear(&customer.record);
    DwCheckReport report;
    ck_book(dw_check_book(book, true, &report, message));
    ck_assert_msg(report.problems.count == 0, "%s", report.problems.count ? report.problems.lines[0] : "");
    ck_assert_uint_eq(report.set_aside, 0); // the files went with their rows
    dw_check_report_clear(&report);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

static json_t *export_of(DwBook *book, int64_t customer, const char *folder)
{
    DwProblems problems;
    ck_book(dw_export_write(book, customer, folder, &problems, message));
    char *path = dw_text_format("%s/export.json", folder);
    json_error_t error;
    json_t *json = json_load_file(path, 0, &error);
    ck_assert_msg(json != NULL, "%s", error.text);
    free(path);
    return json;
}

START_TEST(an_export_holds_one_customer_or_everything)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = fill_shop(book);
    issue_invoice(book, job);
    char *one = dw_text_format("%s/one", folder), *all = dw_text_format("%s/all", folder);
    json_t *json = export_of(book, 1, one);
    ck_assert_uint_eq(json_array_size(json_object_get(json, "customer")), 1);
    ck_assert_uint_eq(json_array_size(json_object_get(json, "attachment")), 3);
    ck_assert_uint_eq(json_array_size(json_object_get(json, "reading")), 1);
    ck_assert_ptr_null(json_object_get(json, "stock")); // not the customer's
    const json_t *intake = json_array_get(json_object_get(json, "intake"), 0);
    ck_assert_str_eq(json_string_value(json_object_get(intake, "words")), "Quetzalina says it growls");
    ck_assert(json_is_null(json_object_get(intake, "ceiling")));
    json_decref(json);
    DwProblems problems;
    ck_refused(dw_export_write(book, 1, one, &problems, message), "not empty");
    json = export_of(book, 0, all);
    ck_assert_uint_eq(json_array_size(json_object_get(json, "customer")), 2);
    ck_assert(json_array_size(json_object_get(json, "journal")) > 5);
    ck_assert_str_eq(json_string_value(json_object_get(json_object_get(json, "settings"), "estimate.valid_days")),
                     "30");
    json_decref(json);
    char *path = dw_text_format("%s/attachment.csv", all);
    size_t length = 0;
    char *csv = read_file(path, &length);
    ck_assert(strncmp(csv, "id,job_id,", 10) == 0);
    ck_assert_ptr_nonnull(strstr(csv, ",\"a \"\"caption\"\", with a comma\",")); // Source (published): RFC 4180
    free(csv);
    free(path);
    struct stat status;
    ck_assert_int_eq(stat(one, &status), 0);
    ck_assert_int_eq(status.st_mode & 0777, 0700);
    free(one);
    free(all);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(what_is_due_to_go_is_listed)
{
    setenv("TZ", "UTC", 1);
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    dw_book_set_now(book, "2026-03-01T10:00:00Z");
    int64_t job = fill_shop(book);
    issue_invoice(book, job); // the warranty ends on 2026-05-30
    ck_book(dw_job_move(book, job, DW_JOB_HANDED_OVER, "", "", message));
    static const struct {
        const char *now;
        size_t due;
    } days[] = {{"2026-06-30T10:00:00Z", 0},
                {"2027-05-30T10:00:00Z", 0},
                {"2027-05-31T10:00:00Z", 2}, // two photographs, twelve months after it
                {"2032-03-01T10:00:00Z", 2},
                {"2032-03-02T10:00:00Z", 3}}; // and the customer, six years after the job
    for (size_t i = 0; i < sizeof days / sizeof *days; i++) {
        DwDueList due;
        dw_book_set_now(book, days[i].now);
        ck_book(dw_due_list_read(book, &due, message));
        ck_assert_msg(due.count == days[i].due, "%s: %zu", days[i].now, due.count);
        dw_due_list_clear(&due);
    }
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

DW_SUITE("care", an_erased_customer_is_gone_and_the_deck_is_not, an_export_holds_one_customer_or_everything,
         what_is_due_to_go_is_listed)
