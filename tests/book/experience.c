// SPDX-License-Identifier: MIT
// What the shop's own jobs found, counted by cause, drive and model.
#include "book/job/experience.h"
#include "book/job/finding.h"
#include "book/job/job.h"
#include "book/shop/deck.h"
#include "shop.h"

static int64_t add_deck(DwBook *book, const char *make, const char *model, const char *drive)
{
    DwDeck deck;
    dw_record_init(&deck.record, &dw_deck_entity);
    ck_book(dw_record_set(book, &deck.record, "make", make, message));
    ck_book(dw_record_set(book, &deck.record, "model", model, message));
    ck_book(dw_record_set(book, &deck.record, "drive", drive, message));
    ck_book(dw_record_save(book, &deck.record, message));
    int64_t id = deck.record.id;
    dw_record_clear(&deck.record);
    return id;
}

static int64_t add_job(DwBook *book, int64_t deck, int64_t warranty_of)
{
    DwJob job;
    dw_record_init(&job.record, &dw_job_entity);
    job.customer_id = 1;
    job.deck_id = deck;
    job.warranty_of_id = warranty_of;
    ck_book(dw_job_open(book, &job, message));
    int64_t id = job.record.id;
    dw_record_clear(&job.record);
    return id;
}

static void add_told(DwBook *book, int64_t job, const char *symptom, const char *cause, const char *confirmed)
{
    DwFinding finding;
    dw_record_init(&finding.record, &dw_finding_entity);
    finding.job_id = job;
    ck_book(dw_record_set(book, &finding.record, "symptom", symptom, message));
    ck_book(dw_record_set(book, &finding.record, "cause", cause, message));
    ck_book(dw_record_set(book, &finding.record, "confirmed", confirmed, message));
    ck_book(dw_record_save(book, &finding.record, message));
    dw_record_clear(&finding.record);
}

static void add_cause(DwBook *book, int64_t job, const char *cause, const char *confirmed)
{
    add_told(book, job, "as told", cause, confirmed);
}

static void set_operation(DwBook *book, int64_t id, const char *operation)
{
    DwDeck deck;
    dw_record_init(&deck.record, &dw_deck_entity);
    ck_book(dw_record_load(book, &deck.record, id, message));
    ck_book(dw_record_set(book, &deck.record, "operation", operation, message));
    ck_book(dw_record_save(book, &deck.record, message));
    dw_record_clear(&deck.record);
}

static void hand_over(DwBook *book, int64_t job)
{
    ck_book(dw_job_move(book, job, DW_JOB_HANDED_OVER, "", "", message));
}

START_TEST(confirmed_causes_are_counted)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    shop_first_job(book); // a customer
    int64_t one = add_deck(book, "Invented", "One", "belt"), other = add_deck(book, "Invented", "Other", "belt");
    set_operation(book, other, "changer");
    int64_t direct = add_deck(book, "Invented", "Third", "direct");
    int64_t jobs[] = {add_job(book, one, 0), add_job(book, one, 0), add_job(book, other, 0), add_job(book, direct, 0)};
    int64_t open = add_job(book, one, 0), at_hand = add_job(book, one, 0);
    add_cause(book, jobs[0], "Belt slack", "confirmed");
    add_cause(book, jobs[0], "belt slack \n", "confirmed"); // twice on one job is once
    add_cause(book, jobs[1], "Main bearing dry", "confirmed");
    add_cause(book, jobs[1], "Motor dry", "not confirmed");
    add_cause(book, jobs[2], "BELT SLACK", "confirmed");
    add_cause(book, jobs[3], "Belt slack", "confirmed");
    add_cause(book, open, "Belt slack", "confirmed"); // not handed over
    add_cause(book, at_hand, "Belt slack", "confirmed");
    for (size_t i = 0; i < sizeof jobs / sizeof *jobs; i++)
        hand_over(book, jobs[i]);
    hand_over(book, at_hand); // the job itself does not count for itself
    add_job(book, other, jobs[2]);
    DwExperience experience;
    ck_book(dw_experience_read(book, at_hand, &experience, message));
    ck_assert_int_eq(experience.decks, 3);
    ck_assert_int_eq(experience.automatic.decks, 1);
    ck_assert_int_eq(experience.automatic.of_model, 0);
    ck_assert_int_eq(experience.changer.decks, 1);
    ck_assert_int_eq(experience.of_model, 2);
    ck_assert_uint_eq(experience.count, 2);
    ck_assert_str_eq(experience.rows[0].cause, "Belt slack");
    ck_assert_int_eq(experience.rows[0].decks, 2);
    ck_assert_int_eq(experience.rows[0].of_model, 1);
    ck_assert_int_eq(experience.rows[0].returned, 1);
    ck_assert_str_eq(experience.rows[1].cause, "Main bearing dry");
    ck_assert_int_eq(experience.rows[1].decks, 1);
    ck_assert_int_eq(experience.rows[1].of_model, 1);
    dw_experience_clear(&experience);
    ck_book(dw_experience_read(book, 0, &experience, message)); // of no job: every drive, no model
    ck_assert_int_eq(experience.decks, 5);
    ck_assert_int_eq(experience.of_model, 0);
    dw_experience_clear(&experience);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

// What owners complained of is counted by cause, and apart where that cause alone was confirmed: with two nobody knows
// which made it.
START_TEST(complaints_are_counted_by_cause)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    shop_first_job(book);
    int64_t belt = add_deck(book, "Invented", "One", "belt"), direct = add_deck(book, "Invented", "Third", "direct");
    int64_t jobs[] = {add_job(book, belt, 0), add_job(book, belt, 0), add_job(book, belt, 0), add_job(book, direct, 0)};
    int64_t at_hand = add_job(book, belt, 0);
    add_told(book, jobs[0], "Is it slow?\nDoes it squeak?", "Belt slack", "confirmed");
    add_told(book, jobs[0], "Is it slow?", "belt slack", "confirmed"); // the first words stand
    add_told(book, jobs[1], "Is it slow?\nDoes it squeak?", "Belt slack", "confirmed");
    add_told(book, jobs[1], "Is it slow?", "Motor dry", "not confirmed");
    add_told(book, jobs[2], "Is it slow?", "Belt slack", "confirmed");
    add_told(book, jobs[2], "Is it slow?", "Motor dry", "confirmed");
    add_told(book, jobs[3], "Is it slow?", "Belt slack", "confirmed"); // of another drive
    for (size_t i = 0; i < sizeof jobs / sizeof *jobs; i++)
        hand_over(book, jobs[i]);
    DwExperience experience;
    ck_book(dw_experience_read(book, at_hand, &experience, message));
    ck_assert_uint_eq(experience.complaint_count, 3);
    const DwExperienceComplaint slow = experience.complaints[0], both = experience.complaints[1];
    ck_assert_str_eq(slow.cause, "Belt slack");
    ck_assert_str_eq(slow.symptom, "Is it slow?");
    ck_assert_int_eq(slow.decks, 1);
    ck_assert_int_eq(slow.alone, 0);
    ck_assert_str_eq(both.cause, "Belt slack");
    ck_assert_str_eq(both.symptom, "Is it slow?\nDoes it squeak?");
    ck_assert_int_eq(both.decks, 2);
    ck_assert_int_eq(both.alone, 2);
    ck_assert_str_eq(experience.complaints[2].cause, "Motor dry");
    ck_assert_int_eq(experience.complaints[2].alone, 0);
    dw_experience_clear(&experience);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

DW_SUITE("experience", confirmed_causes_are_counted, complaints_are_counted_by_cause)
