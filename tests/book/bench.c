// SPDX-License-Identifier: MIT
// What version 3 of the book keeps: edited words, how a deck is set, paired
// screens, measuring on a photograph.
#include "book/store/attachment.h"
#include "book/care/erase.h"
#include "book/care/export.h"
#include "book/care/check.h"
#include "book/shop/device.h"
#include "book/store/journal.h"
#include "book/job/photo.h"
#include "book/store/private.h"
#include "book/job/set_up.h"
#include "book/shop/settings.h"
#include "book/job/wording.h"
#include "shop.h"

#include <math.h>

static DwRecords wordings_of(DwBook *book, int64_t job, size_t expected)
{
    DwRecords records;
    ck_book(dw_wording_of_job(book, job, &records, message));
    ck_assert_uint_eq(records.count, expected);
    return records;
}

START_TEST(edited_words_are_kept_changed_and_dropped)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book);
    ck_book(dw_wording_set(book, job, "service", "service.remark", "en", "It was a pleasure.", message));
    ck_book(dw_wording_set(book, job, "service", "service.remark", "de", "Es war eine Freude.", message));
    ck_book(dw_wording_set(book, job, "service", "service.remark", "en", "It runs again, Ada.", message));
    ck_refused(dw_wording_set(book, job, "", "service.remark", "en", "x", message), "Paper");
    ck_refused(dw_wording_set(book, job, "service", "service.remark", "en", "", message), "Wording");
    ck_refused(dw_wording_set(book, 99, "service", "service.remark", "en", "x", message), "not in the book");
    DwRecords records = wordings_of(book, job, 2);
    const DwWording *first = (const DwWording *)dw_records_at(&records, 0);
    ck_assert_str_eq(first->text, "It runs again, Ada.");
    ck_assert(dw_wording_stands(first));
    DwJournal journal;
    ck_book(dw_journal_read(book, "wording", first->record.id, 0, &journal, message));
    ck_assert_uint_eq(journal.count, 2);
    ck_assert_str_eq(journal.lines[1].old_value, "It was a pleasure.");
    dw_journal_clear(&journal);
    dw_records_clear(&records);
    ck_refused(dw_wording_drop(book, job, "estimate", "service.remark", "en", message), "was not edited");
    ck_book(dw_wording_drop(book, job, "service", "service.remark", "de", message));
    // What was written to a person goes with the person, in the journal too.
    ck_book(dw_job_move(book, job, DW_JOB_HANDED_OVER, "", "", message));
    DwErasure erasure;
    ck_book(dw_erase_customer(book, 1, &erasure, message));
    records = wordings_of(book, job, 1);
    ck_assert(!dw_wording_stands((const DwWording *)dw_records_at(&records, 0)));
    dw_records_clear(&records);
    ck_book(dw_journal_read(book, "wording", 0, 0, &journal, message));
    for (size_t i = 0; i < journal.count; i++)
        ck_assert_ptr_null(strstr(journal.lines[i].old_value, "pleasure"));
    dw_journal_clear(&journal);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

static void note(DwBook *book, int64_t job, DwPhase phase, const char *key, const char *value)
{
    DwSetUp set_up;
    dw_record_init(&set_up.record, &dw_set_up_entity);
    set_up.job_id = job;
    set_up.phase = (int)phase;
    set_up.key = dw_memory_text(key);
    set_up.value = dw_memory_text(value);
    ck_book(dw_set_up_note(book, &set_up, message));
    dw_record_clear(&set_up.record);
}

START_TEST(the_latest_of_a_setting_counts_and_its_history_stays)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book);
    note(book, job, DW_PHASE_AS_RECEIVED, "arm.overhang", "14.5");
    note(book, job, DW_PHASE_AS_LEFT, "arm.overhang", "17.9 mm");
    note(book, job, DW_PHASE_AS_LEFT, "arm.offset", "23.5");
    note(book, job, DW_PHASE_AS_LEFT, "arm.overhang", "18.1");
    DwRecords records;
    ck_book(dw_set_up_standing(book, job, DW_PHASE_AS_LEFT, &records, message));
    ck_assert_uint_eq(records.count, 2);
    const DwSetUp *overhang = (const DwSetUp *)dw_records_at(&records, 0);
    ck_assert_str_eq(overhang->value, "18.1");
    ck_assert_str_eq(overhang->unit, "mm"); // the catalogue's
    ck_assert_str_eq(overhang->label, "Overhang");
    ck_assert_str_eq(overhang->who, "tester");
    ck_assert_str_eq(((const DwSetUp *)dw_records_at(&records, 1))->key, "arm.offset");
    dw_records_clear(&records);
    ck_book(dw_set_up_standing(book, job, DW_PHASE_AS_RECEIVED, &records, message));
    ck_assert_uint_eq(records.count, 1);
    dw_records_clear(&records);
    ck_book(dw_record_list(book, &dw_set_up_entity, "job_id", job, &records, message));
    ck_assert_uint_eq(records.count, 4);
    DwSetUp *first = (DwSetUp *)dw_records_at(&records, 0);
    ck_book(dw_record_set(book, &first->record, "value", "15", message));
    ck_refused(dw_record_save(book, &first->record, message), "only added to");
    ck_refused(dw_record_remove(book, &first->record, message), "only added to");
    dw_records_clear(&records);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(a_setting_is_checked_as_an_operand_is)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    DwSetUp set_up;
    dw_record_init(&set_up.record, &dw_set_up_entity);
    set_up.job_id = shop_first_job(book);
    dw_field_replace(&set_up.key, "arm.overhang");
    ck_refused(dw_set_up_note(book, &set_up, message), "value");
    dw_field_replace(&set_up.value, "wide");
    ck_refused(dw_set_up_note(book, &set_up, message), "wide");
    dw_field_replace(&set_up.value, "18");
    dw_field_replace(&set_up.unit, "Hz");
    ck_refused(dw_set_up_note(book, &set_up, message), "Hz");
    dw_field_replace(&set_up.key, "spring, front left");
    dw_field_replace(&set_up.label, "");
    ck_refused(dw_set_up_note(book, &set_up, message), "give it a label");
    dw_field_replace(&set_up.label, "Spring, front left");
    dw_field_replace(&set_up.unit, "turns");
    ck_book(dw_set_up_note(book, &set_up, message));
    dw_record_clear(&set_up.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(a_paired_screen_is_known_until_it_is_revoked)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    dw_book_set_now(book, "2026-03-01T10:00:05Z");
    int64_t id = 0;
    DwDevice device;
    dw_record_init(&device.record, &dw_device_entity);
    ck_book(dw_device_add(book, "Bench tablet", "c0ffee01", &id, message));
    ck_refused(dw_device_add(book, "Another", "c0ffee01", NULL, message), "same");
    ck_refused(dw_device_add(book, "", "c0ffee02", NULL, message), "Name");
    ck_refused(dw_device_find_by_hash(book, "c0ffee02", &device, message), "not paired");
    ck_book(dw_device_find_by_hash(book, "c0ffee01", &device, message));
    ck_assert_int_eq(device.record.id, id);
    ck_assert_ptr_null(device.last_seen_at);
    DwJournal journal;
    ck_book(dw_journal_read(book, "device", id, 0, &journal, message));
    size_t lines = journal.count;
    dw_journal_clear(&journal);
    static const char *const moments[][2] = {{"2026-03-01T10:00:10Z", "2026-03-01T10:00:10Z"},
                                             {"2026-03-01T10:00:59Z", "2026-03-01T10:00:10Z"}, // within the minute
                                             {"2026-03-01T10:01:00Z", "2026-03-01T10:01:00Z"}};
    for (size_t i = 0; i < 3; i++) {
        dw_book_set_now(book, moments[i][0]);
        ck_book(dw_device_seen(book, id, message));
        ck_book(dw_device_find_by_hash(book, "c0ffee01", &device, message));
        ck_assert_str_eq(device.last_seen_at, moments[i][1]);
    }
    ck_book(dw_journal_read(book, "device", id, 0, &journal, message));
    ck_assert_uint_eq(journal.count, lines); // coming by is no change to anything
    dw_journal_clear(&journal);
    DwRecords devices;
    ck_book(dw_device_list(book, &devices, message));
    ck_assert_uint_eq(devices.count, 1);
    dw_records_clear(&devices);
    ck_book(dw_device_revoke(book, id, message));
    ck_refused(dw_device_revoke(book, id, message), "already");
    ck_refused(dw_device_find_by_hash(book, "c0ffee01", &device, message), "not paired");
    ck_refused(dw_record_remove(book, &device.record, message), "stays on the list");
    ck_book(dw_device_list(book, &devices, message));
    ck_assert_uint_eq(devices.count, 0);
    dw_records_clear(&devices);
    dw_record_clear(&device.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

// Whether any file in FOLDER holds WORD.
static bool any_file_holds(const char *folder, const char *word)
{
    char *command = dw_text_format("grep -rqF %s %s", word, folder);
    int result = system(command);
    free(command);
    ck_assert_int_le(result >> 8, 1);
    return result == 0;
}

START_TEST(no_hash_leaves_the_book)
{
    char *folder = shop_folder(), *out = dw_text_format("%s/out", folder);
    DwBook *book = shop_open(folder);
    char *none = dw_settings_password_hash(book);
    ck_assert_str_eq(none, "");
    ck_book(dw_settings_set_password_hash(book, "decade99", message));
    ck_book(dw_device_add(book, "Bench tablet", "c0ffee01", NULL, message));
    char *hash = dw_settings_password_hash(book);
    ck_assert_str_eq(hash, "decade99");
    ck_refused(dw_settings_set(book, "bench.password_hash", "mine", message), "no setting");
    note(book, shop_first_job(book), DW_PHASE_AS_LEFT, "arm.overhang", "18.125");
    DwProblems problems;
    char *one = dw_text_format("%s/one", folder);
    ck_book(dw_export_write(book, 1, one, &problems, message)); // the customer's settings, and nobody's screens
    ck_assert(any_file_holds(one, "18.125"));
    ck_assert(!any_file_holds(one, "tablet"));
    free(one);
    ck_book(dw_export_write(book, 0, out, &problems, message));
    ck_assert(any_file_holds(out, "tablet"));
    ck_assert(!any_file_holds(out, "c0ffee01"));
    ck_assert(!any_file_holds(out, "decade99"));
    DwDevice device;
    dw_record_init(&device.record, &dw_device_entity);
    ck_book(dw_record_load(book, &device.record, 1, message));
    ck_assert_str_eq(device.token_hash, "c0ffee01");
    char *json = dw_record_json_write(book, &device.record);
    ck_assert_ptr_null(strstr(json, "c0ffee01"));
    DwJournal journal; // says that, not what
    ck_book(dw_journal_read(book, "setting", 0, 0, &journal, message));
    ck_assert_uint_eq(journal.count, 1);
    ck_assert_str_eq(journal.lines[0].new_value, "set");
    dw_journal_clear(&journal);
    free(json);
    free(hash);
    free(none);
    free(out);
    dw_record_clear(&device.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

static int64_t photo_of(DwBook *book, int64_t job, double um_per_pixel)
{
    DwAttachment attachment;
    dw_record_init(&attachment.record, &dw_attachment_entity);
    attachment.job_id = job;
    attachment.scale_um_per_pixel = um_per_pixel;
    ck_book(dw_attachment_add_bytes(book, &attachment, "tip.png", "pixels", 6, message));
    int64_t id = attachment.record.id;
    dw_record_clear(&attachment.record);
    return id;
}

static DwPhotoMeasure measure_of(int64_t photo, DwPhotoKind kind, const double points[8])
{
    DwPhotoMeasure measure;
    dw_record_init(&measure.record, &dw_photo_measure_entity);
    measure.attachment_id = photo;
    measure.kind = (int)kind;
    double *const places[] = {&measure.x1, &measure.y1, &measure.x2, &measure.y2,
                              &measure.x3, &measure.y3, &measure.x4, &measure.y4};
    for (size_t i = 0; i < 8; i++)
        *places[i] = points[i];
    return measure;
}

// Triangles with whole sides, right angles and their halves: exact by construction.
START_TEST(points_on_a_picture_make_lengths_and_angles)
{
    static const struct {
        DwPhotoKind kind;
        double points[8], value;
        const char *unit;
    } cases[] = {
        {DW_PHOTO_LENGTH, {0, 0, 3, 4, NAN, NAN, NAN, NAN}, 5 * 0.1, "mm"},
        {DW_PHOTO_FLAT, {10, 10, 15, 22, NAN, NAN, NAN, NAN}, 13 * 100, "um"},
        {DW_PHOTO_ANGLE, {0, 0, 10, 0, 50, 50, 50, 40}, 90, "deg"}, // up the picture: anticlockwise
        {DW_PHOTO_ANGLE, {0, 0, 10, 0, 50, 50, 60, 60}, -45, "deg"},
        {DW_PHOTO_RAKE, {100, 100, 100, 50, 20, 100, NAN, NAN}, 90, "deg"},
        // The top leans away from the pivot, which lies to the left or, mirrored, to the right: above 90.
        {DW_PHOTO_RAKE, {100, 100, 150, 50, 20, 100, NAN, NAN}, 135, "deg"},
        {DW_PHOTO_RAKE, {100, 100, 50, 50, 180, 100, NAN, NAN}, 135, "deg"},
    };
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t photo = photo_of(book, shop_first_job(book), NAN);
    DwPhotoScale scale;
    dw_record_init(&scale.record, &dw_photo_scale_entity);
    scale.attachment_id = photo;
    scale.x1 = scale.y1 = 7;
    scale.x2 = 7 + 60;
    scale.y2 = 7 + 80;
    scale.length_mm = 10; // over 100 pixels
    ck_book(dw_photo_scale_add(book, &scale, message));
    dw_record_clear(&scale.record);
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        DwPhotoMeasure measure = measure_of(photo, cases[i].kind, cases[i].points);
        ck_book(dw_photo_measure_add(book, &measure, message));
        ck_assert_msg(fabs(measure.value - cases[i].value) < 1e-9, "case %zu: %g", i, measure.value);
        ck_assert_str_eq(measure.unit, cases[i].unit);
        dw_record_clear(&measure.record);
    }
    DwCheckReport report;
    ck_book(dw_check_book(book, true, &report, message));
    ck_assert_msg(report.problems.count == 0, "%s", report.problems.count ? report.problems.lines[0] : "");
    dw_check_report_clear(&report);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(a_picture_without_scale_or_line_gives_no_number)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book), bare = photo_of(book, job, NAN), stylus = photo_of(book, job, 0.25);
    DwPhotoScale scale;
    dw_record_init(&scale.record, &dw_photo_scale_entity);
    scale.attachment_id = bare;
    scale.x1 = scale.x2 = scale.y1 = scale.y2 = 5;
    scale.length_mm = 1;
    ck_refused(dw_photo_scale_add(book, &scale, message), "two points");
    scale.x2 = 6;
    scale.length_mm = 0;
    ck_refused(dw_photo_scale_add(book, &scale, message), "distance");
    DwPhotoMeasure measure = measure_of(bare, DW_PHOTO_FLAT, (double[]){0, 0, 40, 0, NAN, NAN, NAN, NAN});
    ck_refused(dw_photo_measure_add(book, &measure, message), "no scale");
    measure.kind = DW_PHOTO_RAKE;
    ck_refused(dw_photo_measure_add(book, &measure, message), "make no angle");
    measure.kind = DW_PHOTO_FLAT;
    measure.attachment_id = stylus; // whose own scale holds
    ck_book(dw_photo_measure_add(book, &measure, message));
    ck_assert_double_eq_tol(measure.value, 10, 1e-9);
    ck_book(dw_record_set(book, &measure.record, "x2", "80", message));
    ck_refused(dw_record_save(book, &measure.record, message), "is not changed");
    // The picture takes what was measured on it along.
    ck_book(dw_attachment_remove(book, stylus, message));
    int64_t left = -1;
    ck_book(dw_query_number(book, "SELECT count(*) FROM photo_measure", 0, &left, message));
    ck_assert_int_eq(left, 0);
    dw_record_clear(&measure.record);
    dw_record_clear(&scale.record);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(the_check_measures_pictures_again)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t photo = photo_of(book, shop_first_job(book), NAN);
    ck_book(dw_book_begin(book, message));
    ck_book(dw_query_run(book,
                         "INSERT INTO photo_scale (revision, attachment_id, x1, y1, x2, y2, length_mm, "
                         "mm_per_pixel, at) VALUES (1, 1, 0, 0, 30, 40, 10, 0.3, '2026-03-01T10:00:00Z')",
                         message));
    ck_book(dw_query_run(book,
                         "INSERT INTO photo_measure (revision, attachment_id, kind, x1, y1, x2, y2, mm_per_pixel, "
                         "value, unit, at) VALUES (1, 1, 'length', 0, 0, 3, 4, 0.2, 2, 'mm', '2026-03-01T10:00:00Z')",
                         message));
    ck_book(dw_book_end(book, DW_OK, message));
    ck_assert_int_eq(photo, 1);
    DwCheckReport report;
    ck_book(dw_check_book(book, false, &report, message));
    ck_assert_uint_eq(report.problems.count, 2);
    ck_assert_ptr_nonnull(strstr(report.problems.lines[0], "scale 1"));
    ck_assert_ptr_nonnull(strstr(report.problems.lines[1], "Measurement 1 on a picture"));
    dw_check_report_clear(&report);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

static int64_t picture_as(DwBook *book, int64_t job, DwPhase phase, const char *zone, const char *caption)
{
    DwAttachment attachment;
    dw_record_init(&attachment.record, &dw_attachment_entity);
    attachment.job_id = job;
    attachment.phase = (int)phase;
    ck_book(dw_record_set(book, &attachment.record, "zone", zone, message));
    ck_book(dw_record_set(book, &attachment.record, "caption", caption, message));
    ck_book(dw_attachment_add_bytes(book, &attachment, "deck.png", "pixels", 6, message));
    int64_t id = attachment.record.id;
    dw_record_clear(&attachment.record);
    return id;
}

static void expect_order(DwBook *book, int64_t job, const int64_t *ids, size_t count)
{
    DwRecords all;
    ck_book(dw_attachment_of_job(book, job, &all, message));
    ck_assert_uint_eq(all.count, count);
    for (size_t i = 0; i < count; i++)
        ck_assert_int_eq(dw_records_at(&all, i)->id, ids[i]);
    dw_records_clear(&all);
}

START_TEST(pictures_move_past_each_other_and_past_what_is_none)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book), a = picture_as(book, job, DW_PHASE_DURING, "bearing", "");
    DwAttachment paper;
    dw_record_init(&paper.record, &dw_attachment_entity);
    paper.job_id = job;
    paper.kind = DW_ATTACHMENT_DOCUMENT;
    ck_book(dw_attachment_add_bytes(book, &paper, "letter.pdf", "words", 5, message));
    int64_t p = paper.record.id, b = picture_as(book, job, DW_PHASE_DURING, "motor", ""),
            c = picture_as(book, job, DW_PHASE_DURING, "belt", "");
    dw_record_clear(&paper.record);
    ck_book(dw_attachment_move(book, b, -1, message));
    expect_order(book, job, (int64_t[]){b, p, a, c}, 4);
    ck_book(dw_attachment_move(book, b, -1, message)); // the first stays
    expect_order(book, job, (int64_t[]){b, p, a, c}, 4);
    ck_book(dw_attachment_move(book, c, 1, message)); // and the last
    expect_order(book, job, (int64_t[]){b, p, a, c}, 4);
    ck_book(dw_attachment_move(book, a, 1, message));
    expect_order(book, job, (int64_t[]){b, p, c, a}, 4);
    ck_refused(dw_attachment_move(book, 99, 1, message), "number 99");
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(a_picture_answers_the_one_it_pairs_with)
{
    static const struct {
        DwPhase phases[2];
        const char *zones[2], *captions[2];
        bool answers;
    } cases[] = {
        {{DW_PHASE_AS_RECEIVED, DW_PHASE_AS_LEFT}, {"none", "none"}, {"Arm", "Arm"}, true},
        {{DW_PHASE_AS_RECEIVED, DW_PHASE_AS_LEFT}, {"bearing", "bearing"}, {"", ""}, true},
        {{DW_PHASE_AS_RECEIVED, DW_PHASE_AS_LEFT}, {"none", "none"}, {"", ""}, false},
        {{DW_PHASE_AS_RECEIVED, DW_PHASE_AS_LEFT}, {"bearing", "bearing"}, {"dry", "oiled"}, false},
        {{DW_PHASE_AS_LEFT, DW_PHASE_AS_RECEIVED}, {"none", "none"}, {"Arm", "Arm"}, false},
        {{DW_PHASE_AS_RECEIVED, DW_PHASE_DURING}, {"none", "none"}, {"Arm", "Arm"}, false},
    };
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book);
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        DwAttachment pair[2];
        for (size_t n = 0; n < 2; n++) {
            dw_record_init(&pair[n].record, &dw_attachment_entity);
            int64_t id = picture_as(book, job, cases[i].phases[n], cases[i].zones[n], cases[i].captions[n]);
            ck_book(dw_record_load(book, &pair[n].record, id, message));
        }
        ck_assert_msg(dw_attachment_answers(&pair[1], &pair[0]) == cases[i].answers, "case %zu", i);
        dw_record_clear(&pair[0].record);
        dw_record_clear(&pair[1].record);
    }
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

DW_SUITE("bench", edited_words_are_kept_changed_and_dropped, the_latest_of_a_setting_counts_and_its_history_stays,
         a_setting_is_checked_as_an_operand_is, a_paired_screen_is_known_until_it_is_revoked, no_hash_leaves_the_book,
         points_on_a_picture_make_lengths_and_angles, a_picture_without_scale_or_line_gives_no_number,
         the_check_measures_pictures_again, pictures_move_past_each_other_and_past_what_is_none,
         a_picture_answers_the_one_it_pairs_with)
