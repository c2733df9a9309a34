// SPDX-License-Identifier: MIT
// Ten years of a busy shop, and how long the board, a search and the opening of
// a job take in it. A benchmark to be run by hand, no test:
//
//     large-shop [JOBS [FOLDER]]
//
// With FOLDER the book is made there and kept, and nothing is timed. Each figure is the worst of twenty, in
// milliseconds.
#include "base/memory.h"
#include "base/text.h"
#include "book/store/attachment.h"
#include "book/job/board.h"
#include "book/job/comparison.h"
#include "book/money/consent.h"
#include "book/job/finding.h"
#include "book/job/intake.h"
#include "book/store/private.h"
#include "book/entry/search.h"
#include "book/job/verdict.h"
#include "book/job/work.h"

#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum { JOBS = 20000, PHOTOS = 3, OPEN_JOBS = 25, ROUNDS = 20 };

static int remove_entry(const char *path, const struct stat *status, int kind, struct FTW *walk)
{
    (void)status;
    (void)kind;
    (void)walk;
    return remove(path);
}

static double now_ms(void)
{
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec * 1e3 + (double)time.tv_nsec / 1e6;
}

// Rows made by SQL: what is asked is how the book reads, not how it writes.
static const char *const filling[] = {
    "CREATE TEMP TABLE n AS WITH RECURSIVE c(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM c WHERE i < %d) SELECT i FROM "
    "c",
    "INSERT INTO customer (id, revision, name, phone, route) SELECT i, 1, 'Name' || (i * 7919 %% 9973) || ' Family' || "
    "(i %% 613), '0' || i, 'email' FROM n WHERE i %% 2 = 1",
    "INSERT INTO deck (id, revision, make, model, serial, drive, operation) SELECT i, 1, 'Make' || (i %% 40), 'Model' "
    "|| "
    "(i %% 300), 'S' || (i * 31), 'belt', 'manual' FROM n",
    "INSERT INTO job (id, revision, number, customer_id, deck_id, kind, priority, state, state_since, opened_at) "
    "SELECT "
    "i, 1, i, i - 1 + i %% 2, i, 'repair', 'normal', iif(i > %d - 25, 'waiting for part', 'handed over'), "
    "'2026-01-01T10:00:00Z', '2026-01-01T10:00:00Z' FROM n",
    "INSERT INTO stage (revision, job_id, state, at) SELECT 1, i, (SELECT state FROM job WHERE id = i), "
    "'2026-01-01T10:00:00Z' FROM n",
    "INSERT INTO intake (revision, job_id, at, arrived, wish) SELECT 1, i, '2026-01-01T10:00:00Z', 'counter', 'not "
    "said' "
    "FROM n",
    "INSERT INTO measurement (id, revision, job_id, phase, procedure, test_record, chain, subject, at, sheet) SELECT "
    "i * 2 + k, 1, i, iif(k, 'as left', 'as received'), 'speed', 'Disc A', 'Chain 1', 'take.wav', "
    "'2026-01-01T10:00:00Z', "
    "'{\"deckwright\":1,\"procedure\":\"speed\",\"title\":\"\",\"subject\":\"take.wav\",\"inputs\":{},"
    "\"readings\":[{\"key\":\"a\",\"label\":\"a\",\"value\":1,\"unit\":\"s\"}],\"tables\":[],\"curves\":[],\"rasters\":"
    "[],"
    "\"remarks\":[],\"cautions\":[],\"not_measured\":[]}' FROM n, (SELECT 0 AS k UNION SELECT 1)",
    "INSERT INTO reading (revision, measurement_id, key, value, grade) SELECT 1, id, 'key' || k, 1.5, 'good' FROM "
    "measurement, (SELECT value AS k FROM json_each('[1,2,3,4,5]'))",
    "INSERT INTO attachment (revision, job_id, kind, phase, position, file, digest, at) SELECT 1, i, 'photo', 'none', "
    "k, "
    "i || '-' || k, 'x', '2026-01-01T10:00:00Z' FROM n, (SELECT value AS k FROM json_each('[1,2,3]'))",
    "INSERT INTO verdict (revision, job_id, item, aspect, phase, grade, at) SELECT 1, i, 'item' || k, 'use', "
    "'as received', 'good', '2026-01-01T10:00:00Z' FROM n, (SELECT value AS k FROM json_each('[1,2,3,4,5,6]'))",
    "INSERT INTO journal (at, who, entity, row_id, field, old_value, new_value, personal) SELECT "
    "'2026-01-01T10:00:00Z', 'x', 'job', i, 'place', 'a', 'b', 0 FROM n, (SELECT value AS k FROM "
    "json_each('[1,2,3,4,5]'))",
};

static void fill(DwBook *book, int jobs)
{
    DwMessage message = {""};
    DwStatus status = dw_book_begin(book, &message);
    for (size_t i = 0; status == DW_OK && i < sizeof filling / sizeof *filling; i++) {
        DwText sql = {0};
        for (const char *at = filling[i]; *at; at++) { // "%d" is the number of jobs, "%%" a per cent sign
            bool number = at[0] == '%' && at[1] == 'd';
            dw_text_add(&sql, number ? "%d" : "%c", number ? jobs : *at);
            at += at[0] == '%';
        }
        status = dw_query_run(book, sql.chars, &message);
        dw_text_clear(&sql);
    }
    status = dw_book_end(book, status, &message);
    if (status != DW_OK) {
        fprintf(stderr, "%s\n", message.text);
        exit(1);
    }
}

static void read_board(DwBook *book, int round)
{
    DwBoard board;
    (void)round;
    if (dw_board_read(book, &board, NULL) != DW_OK || board.count != OPEN_JOBS)
        exit(1);
    dw_board_clear(&board);
}

static void search(DwBook *book, int round)
{
    static const char *const words[] = {"name1", "fam", "make1 model2", "s310", "1", "nobody"};
    DwHits hits;
    if (dw_search_words(book, words[round % 6], 50, &hits, NULL) != DW_OK)
        exit(1);
    dw_hits_clear(&hits);
}

// All that a page about one job shows.
static void open_job(DwBook *book, int round)
{
    static const DwEntity *const parts[] = {&dw_stage_entity,       &dw_contact_entity, &dw_intake_entity,
                                            &dw_measurement_entity, &dw_finding_entity, &dw_operation_entity,
                                            &dw_part_entity,        &dw_consent_entity, &dw_estimate_entity};
    char *number = dw_text_format("%d", 1 + round * 37);
    DwJob job;
    DwRecords records;
    DwComparison comparison;
    DwOverall overall[DW_ASPECT_COUNT];
    dw_record_init(&job.record, &dw_job_entity);
    if (dw_job_find(book, number, &job, NULL) != DW_OK)
        exit(1);
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        if (dw_record_list(book, parts[i], "job_id", job.record.id, &records, NULL) != DW_OK)
            exit(1);
        dw_records_clear(&records);
    }
    if (dw_attachment_of_job(book, job.record.id, &records, NULL) != DW_OK || records.count != PHOTOS)
        exit(1);
    dw_records_clear(&records);
    if (dw_comparison_make(book, job.record.id, &comparison, NULL) != DW_OK ||
        dw_verdict_overall(book, job.record.id, overall, NULL) != DW_OK)
        exit(1);
    dw_comparison_clear(&comparison);
    dw_verdict_overall_clear(overall);
    dw_record_clear(&job.record);
    free(number);
}

static void measure(DwBook *book, const char *what, void (*work)(DwBook *, int))
{
    double worst = 0;
    for (int i = 0; i < ROUNDS; i++) {
        double start = now_ms();
        work(book, i);
        double took = now_ms() - start;
        worst = took > worst ? took : worst;
    }
    printf("%-8s %7.2f ms\n", what, worst);
}

// Makes the book in FOLDER and leaves it.
static int make(const char *folder, int jobs)
{
    DwBook *book = NULL;
    DwMessage message = {""};
    if (dw_book_open(folder, &book, &message) != DW_OK) {
        fprintf(stderr, "%s\n", message.text);
        return 1;
    }
    fill(book, jobs);
    dw_book_close(book);
    return 0;
}

int main(int count, char **words)
{
    if (count > 2 && atoi(words[1]) >= 1000)
        return make(words[2], atoi(words[1]));
    int jobs = count > 1 ? atoi(words[1]) : JOBS;
    char *folder = dw_memory_text(P_tmpdir "/deckwright-large-XXXXXX");
    DwBook *book = NULL;
    if (jobs < 1000 || !mkdtemp(folder) || dw_book_open(folder, &book, NULL) != DW_OK)
        return 1;
    fill(book, jobs);
    dw_book_close(book);
    if (dw_book_open(folder, &book, NULL) != DW_OK) // a fresh connection with nothing in its memory
        return 1;
    measure(book, "board", read_board);
    measure(book, "search", search);
    measure(book, "open job", open_job);
    dw_book_close(book);
    nftw(folder, remove_entry, 16, FTW_DEPTH | FTW_PHYS);
    free(folder);
    return 0;
}
