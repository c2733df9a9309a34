// SPDX-License-Identifier: MIT
// Kills programs that write to a book at drawn instants and looks at what is left.
//
//     kill-trial COUNT [SEED]
//
// It works in the folder TMPDIR, else in the system's folder for temporary files.
//
// In each trial two programs write jobs with an attachment each, and in every
// fifth a third one makes a backup; all are killed with SIGKILL after a drawn
// time between nothing and what SPAN_JOBS jobs take on this machine. A job that a program was told is kept stands in a
// ledger. Then the book must pass its check with every attachment read, hold each job of the ledger with its whole
// attachment, and no job without one; and a backup must come back.
#include "base/memory.h"
#include "base/text.h"
#include "book/store/attachment.h"
#include "book/care/backup.h"
#include "book/care/check.h"
#include "book/store/private.h"
#include "book/job/job.h"

#include <fcntl.h>
#include <ftw.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { FRESH_EVERY = 20, BACKUP_EVERY = 5, SPAN_JOBS = 8, LARGEST = 150000 };

typedef struct {
    char *folder, *backup, *ledger;
    unsigned span_us; // the longest time before the kill
    size_t committed, swept, set_aside, restored;
} Trial;

static void fail(int trial, const char *what, const char *detail)
{
    printf("1..1\nnot ok 1 - trial %d: %s %s\n", trial, what, detail);
    exit(1);
}

static int remove_entry(const char *path, const struct stat *status, int kind, struct FTW *walk)
{
    (void)status;
    (void)kind;
    (void)walk;
    return remove(path);
}

static void remove_tree(const char *folder)
{
    nftw(folder, remove_entry, 16, FTW_DEPTH | FTW_PHYS);
}

// The picture of job NUMBER: its size and bytes follow from the number.
static size_t picture_size(int64_t number)
{
    return (size_t)(number * 7919 % LARGEST);
}

static char *picture(int64_t number)
{
    size_t size = picture_size(number);
    char *bytes = dw_memory_new(size + 1, 1);
    for (size_t i = 0; i < size; i++)
        bytes[i] = (char)(number + (int64_t)i * 31);
    return bytes;
}

static DwStatus add_job(DwBook *book, int64_t *number, DwMessage *message)
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
    char *bytes = picture(job.number);
    if (status == DW_OK)
        status = dw_attachment_add_bytes(book, &attachment, "x.jpg", bytes, picture_size(job.number), message);
    free(bytes);
    *number = job.number;
    dw_record_clear(&customer.record);
    dw_record_clear(&job.record);
    dw_record_clear(&attachment.record);
    return dw_book_end(book, status, message);
}

// Writes jobs until it is killed; a job that is kept goes into the ledger.
static void write_until_killed(const Trial *trial)
{
    DwBook *book = NULL;
    DwMessage message = {""};
    int ledger = open(trial->ledger, O_WRONLY | O_CREAT | O_APPEND, 0600);
    DwStatus status = dw_book_open(trial->folder, &book, &message);
    while (status == DW_OK) {
        int64_t number = 0;
        status = add_job(book, &number, &message);
        if (status == DW_OK && write(ledger, &number, sizeof number) != sizeof number)
            break;
    }
    fprintf(stderr, "# a writer stopped: %s\n", message.text);
    _exit(1);
}

static void back_up_until_killed(const Trial *trial)
{
    DwBook *book = NULL;
    DwProblems problems;
    DwMessage message = {""};
    DwStatus status = dw_book_open(trial->folder, &book, &message);
    while (status == DW_OK)
        status = dw_backup_write(book, trial->backup, &problems, &message);
    fprintf(stderr, "# a backup stopped: %s\n", message.text);
    _exit(1);
}

static pid_t start(const Trial *trial, void (*work)(const Trial *))
{
    fflush(stdout);
    pid_t child = fork();
    if (child == 0)
        work(trial);
    return child;
}

// So that there is an earlier backup when the making of the next one is killed.
static void make_first_backup(int number, const Trial *trial)
{
    DwBook *book = NULL;
    DwProblems problems;
    DwMessage message = {""};
    char *file = dw_text_format("%s/backup.sqlite", trial->backup);
    if (access(file, F_OK) != 0) {
        if (dw_book_open(trial->folder, &book, &message) != DW_OK ||
            dw_backup_write(book, trial->backup, &problems, &message) != DW_OK)
            fail(number, "a backup failed:", message.text);
        dw_book_close(book);
    }
    free(file);
}

static off_t ledger_size(const Trial *trial)
{
    struct stat status;
    return stat(trial->ledger, &status) == 0 ? status.st_size : 0;
}

// In every other trial the drawn time starts with the first kept job: on a busy
// machine the programs would else often be killed before they have begun.
static void wait_for_a_job(const Trial *trial)
{
    off_t before = ledger_size(trial);
    for (int i = 0; i < 5000 && ledger_size(trial) == before; i++)
        usleep(1000);
}

static void kill_at_drawn_instant(int number, const Trial *trial)
{
    pid_t children[3];
    int count = 2;
    if (number % BACKUP_EVERY == 0)
        make_first_backup(number, trial);
    for (int i = 0; i < 2; i++)
        children[i] = start(trial, write_until_killed);
    if (number % BACKUP_EVERY == 0)
        children[count++] = start(trial, back_up_until_killed);
    if (number % 2)
        wait_for_a_job(trial);
    usleep((unsigned)rand() % trial->span_us);
    for (int i = 0; i < count; i++)
        kill(children[i], SIGKILL);
    for (int i = 0; i < count; i++) {
        int result = 0;
        waitpid(children[i], &result, 0);
        if (!WIFSIGNALED(result))
            fail(number, "a program stopped before it was killed", "");
    }
}

// The attachment of the job must be the picture of its number.
static void expect_picture(DwBook *book, int number, int64_t job_number)
{
    DwQuery query = dw_query_begin(book, "SELECT file FROM attachment JOIN job ON job.id = job_id WHERE number = ?");
    dw_query_bind_integer(&query, job_number);
    if (!dw_query_step(&query))
        fail(number, "a kept job is lost", "");
    char *path = dw_text_format("%s/attachments/%s", book->folder, dw_query_text(&query, 0));
    dw_query_end(&query, NULL);
    size_t size = picture_size(job_number);
    char *expected = picture(job_number), *bytes = dw_memory_new(size + 2, 1);
    FILE *file = fopen(path, "rb");
    if (!file || fread(bytes, 1, size + 1, file) != size || memcmp(bytes, expected, size) != 0)
        fail(number, "an attachment is not whole:", path);
    fclose(file);
    free(expected);
    free(bytes);
    free(path);
}

static void expect_sound(DwBook *book, int number, Trial *trial)
{
    DwCheckReport report;
    DwMessage message = {""};
    if (dw_check_book(book, true, &report, &message) != DW_OK)
        fail(number, "the check failed:", message.text);
    if (report.problems.count)
        fail(number, "the check found:", report.problems.lines[0]);
    trial->swept += report.swept;
    trial->set_aside += report.set_aside;
    dw_check_report_clear(&report);
    int64_t half = 0;
    dw_query_number(book, "SELECT count(*) FROM job WHERE (SELECT count(*) FROM attachment WHERE job_id = job.id) <> 1",
                    0, &half, NULL);
    if (half)
        fail(number, "a job has not its one attachment", "");
}

static void inspect(int number, Trial *trial)
{
    DwBook *book = NULL;
    DwMessage message = {""};
    if (dw_book_open(trial->folder, &book, &message) != DW_OK)
        fail(number, "the book does not open:", message.text);
    expect_sound(book, number, trial);
    FILE *ledger = fopen(trial->ledger, "rb");
    int64_t job_number;
    trial->committed = 0;
    while (ledger && fread(&job_number, sizeof job_number, 1, ledger) == 1) {
        expect_picture(book, number, job_number);
        trial->committed++;
    }
    if (ledger)
        fclose(ledger);
    dw_book_close(book);
}

// Whatever backup is there, of this trial or an earlier one, must come back whole.
static void restore(int number, Trial *trial)
{
    char *file = dw_text_format("%s/backup.sqlite", trial->backup);
    char *target = dw_text_format("%s-restored", trial->folder), *aside = NULL;
    DwMessage message = {""};
    DwProblems problems;
    if (access(file, F_OK) == 0) {
        if (dw_backup_restore(trial->backup, target, &aside, &problems, &message) != DW_OK)
            fail(number, "the backup does not come back:", message.text);
        if (problems.count)
            fail(number, "the backup is not whole:", problems.lines[0]);
        DwBook *book = NULL;
        if (dw_book_open(target, &book, &message) != DW_OK)
            fail(number, "the restored book does not open:", message.text);
        expect_sound(book, number, trial);
        dw_book_close(book);
        remove_tree(target);
        trial->restored++;
    }
    free(aside);
    free(target);
    free(file);
}

// How long SPAN_JOBS jobs take here, undisturbed.
static unsigned measure_span(const Trial *trial)
{
    DwBook *book = NULL;
    struct timespec start, end;
    int64_t number;
    clock_gettime(CLOCK_MONOTONIC, &start);
    if (dw_book_open(trial->folder, &book, NULL) != DW_OK)
        fail(0, "the book does not open", "");
    for (int i = 0; i < SPAN_JOBS; i++)
        if (add_job(book, &number, NULL) != DW_OK)
            fail(0, "a job is not kept", "");
    dw_book_close(book);
    clock_gettime(CLOCK_MONOTONIC, &end);
    return (unsigned)((end.tv_sec - start.tv_sec) * 1000000 + (end.tv_nsec - start.tv_nsec) / 1000) + 1;
}

int main(int count, char **words)
{
    int trials = count > 1 ? atoi(words[1]) : 0;
    if (trials < 1) {
        fprintf(stderr, "kill-trial COUNT [SEED]\n");
        return 2;
    }
    srand(count > 2 ? (unsigned)atoi(words[2]) : 1);
    const char *place = getenv("TMPDIR");
    char *parent = dw_text_format("%s/deckwright-kill-XXXXXX", place && *place ? place : P_tmpdir);
    if (!mkdtemp(parent))
        return 1;
    Trial trial = {dw_text_format("%s/shop", parent),
                   dw_text_format("%s/backup", parent),
                   dw_text_format("%s/ledger", parent),
                   0,
                   0,
                   0,
                   0,
                   0};
    trial.span_us = measure_span(&trial);
    size_t kept = 0;
    for (int i = 1; i <= trials; i++) {
        if (i % FRESH_EVERY == 1) { // the making of a book is killed too
            kept += trial.committed;
            trial.committed = 0;
            remove_tree(trial.folder);
            remove_tree(trial.backup);
            unlink(trial.ledger);
        }
        kill_at_drawn_instant(i, &trial);
        inspect(i, &trial);
        if (i % BACKUP_EVERY == 0)
            restore(i, &trial);
    }
    kept += trial.committed;
    printf("1..1\nok 1 - killed %d times: %zu kept jobs, none lost; %zu half files swept, %zu files without a row set "
           "aside, %zu backups restored\n",
           trials, kept, trial.swept, trial.set_aside, trial.restored);
    remove_tree(parent);
    free(trial.folder);
    free(trial.backup);
    free(trial.ledger);
    free(parent);
    return 0;
}
