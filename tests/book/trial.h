// SPDX-License-Identifier: MIT
// What the trials of the book share: jobs that can be told whole from their number alone, and what must
// hold of a book after any interruption.
#ifndef DW_TESTS_BOOK_TRIAL_H
#define DW_TESTS_BOOK_TRIAL_H

#include "base/memory.h"
#include "base/text.h"
#include "book/care/check.h"
#include "book/job/job.h"
#include "book/store/attachment.h"
#include "book/store/private.h"

#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { TRIAL_LARGEST = 150000 };

static inline void trial_fail(int trial, const char *what, const char *detail)
{
    printf("1..1\nnot ok 1 - trial %d: %s %s\n", trial, what, detail);
    exit(1);
}

static inline int trial_remove_entry(const char *path, const struct stat *status, int kind, struct FTW *walk)
{
    (void)status;
    (void)kind;
    (void)walk;
    return remove(path);
}

static inline void trial_remove_tree(const char *folder)
{
    nftw(folder, trial_remove_entry, 16, FTW_DEPTH | FTW_PHYS);
}

// The picture of job NUMBER: its size and bytes follow from the number.
static inline size_t trial_picture_size(int64_t number)
{
    return (size_t)(number * 7919 % TRIAL_LARGEST);
}

static inline char *trial_picture(int64_t number)
{
    size_t size = trial_picture_size(number);
    char *bytes = dw_memory_new(size + 1, 1);
    for (size_t i = 0; i < size; i++)
        bytes[i] = (char)(number + (int64_t)i * 31);
    return bytes;
}

static inline DwStatus trial_add_job(DwBook *book, int64_t *number, DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    DwCustomer customer;
    DwJob job;
    DwAttachment attachment;
    dw_record_init(&customer.record, &dw_customer_entity);
    dw_record_init(&job.record, &dw_job_entity);
    dw_record_init(&attachment.record, &dw_attachment_entity);
    customer.name = dw_memory_text("Ada Sample");
    status = dw_record_save(book, &customer.record, message);
    job.customer_id = customer.record.id;
    if (status == DW_OK)
        status = dw_job_open(book, &job, message);
    attachment.job_id = job.record.id;
    char *bytes = trial_picture(job.number);
    if (status == DW_OK)
        status = dw_attachment_add_bytes(book, &attachment, "x.jpg", bytes, trial_picture_size(job.number), message);
    free(bytes);
    *number = job.number;
    dw_record_clear(&customer.record);
    dw_record_clear(&job.record);
    dw_record_clear(&attachment.record);
    return dw_book_end(book, status, message);
}

// The attachment of the job must be the picture of its number.
static inline void trial_expect_picture(DwBook *book, int number, int64_t job_number)
{
    DwQuery query = dw_query_begin(book, "SELECT file FROM attachment JOIN job ON job.id = job_id WHERE number = ?");
    dw_query_bind_integer(&query, job_number);
    if (!dw_query_step(&query))
        trial_fail(number, "a kept job is lost", "");
    char *path = dw_text_format("%s/attachments/%s", book->folder, dw_query_text(&query, 0));
    dw_query_end(&query, NULL);
    size_t size = trial_picture_size(job_number);
    char *expected = trial_picture(job_number), *bytes = dw_memory_new(size + 2, 1);
    FILE *file = fopen(path, "rb");
    if (!file || fread(bytes, 1, size + 1, file) != size || memcmp(bytes, expected, size) != 0)
        trial_fail(number, "an attachment is not whole:", path);
    fclose(file);
    free(expected);
    free(bytes);
    free(path);
}

static inline void trial_expect_sound(DwBook *book, int number, DwCheckReport *report)
{
    DwMessage message = {""};
    if (dw_check_book(book, true, report, &message) != DW_OK)
        trial_fail(number, "the check failed:", message.text);
    if (report->problems.count)
        trial_fail(number, "the check found:", report->problems.lines[0]);
    int64_t half = 0;
    dw_query_number(book, "SELECT count(*) FROM job WHERE (SELECT count(*) FROM attachment WHERE job_id = job.id) <> 1",
                    0, &half, NULL);
    if (half)
        trial_fail(number, "a job has not its one attachment", "");
}

#endif
