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
#include "base/text.h"
#include "book/care/backup.h"
#include "book/care/check.h"
#include "book/store/private.h"
#include "trial.h"

#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { FRESH_EVERY = 20, BACKUP_EVERY = 5, SPAN_JOBS = 8 };

typedef struct {
    char *folder, *backup, *ledger;
    unsigned span_us; // the longest time before the kill
    size_t committed, swept, set_aside, restored;
} Trial;

// Writes jobs until it is killed; a job that is kept goes into the ledger.
static void write_until_killed(const Trial *trial)
{
    DwBook *book = NULL;
    DwMessage message = {""};
    int ledger = open(trial->ledger, O_WRONLY | O_CREAT | O_APPEND, 0600);
    DwStatus status = dw_book_open(trial->folder, &book, &message);
    while (status == DW_OK) {
        int64_t number = 0;
        status = trial_add_job(book, &number, &message);
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
            trial_fail(number, "a backup failed:", message.text);
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
            trial_fail(number, "a program stopped before it was killed", "");
    }
}

static void expect_sound(DwBook *book, int number, Trial *trial)
{
    DwCheckReport report;
    trial_expect_sound(book, number, &report);
    trial->swept += report.swept;
    trial->set_aside += report.set_aside;
    dw_check_report_clear(&report);
}

static void inspect(int number, Trial *trial)
{
    DwBook *book = NULL;
    DwMessage message = {""};
    if (dw_book_open(trial->folder, &book, &message) != DW_OK)
        trial_fail(number, "the book does not open:", message.text);
    expect_sound(book, number, trial);
    FILE *ledger = fopen(trial->ledger, "rb");
    int64_t job_number;
    trial->committed = 0;
    while (ledger && fread(&job_number, sizeof job_number, 1, ledger) == 1) {
        trial_expect_picture(book, number, job_number);
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
        if (dw_backup_restore(trial->backup, target, &aside, &(size_t){0}, &problems, &message) != DW_OK)
            trial_fail(number, "the backup does not come back:", message.text);
        if (problems.count)
            trial_fail(number, "the backup is not whole:", problems.lines[0]);
        DwBook *book = NULL;
        if (dw_book_open(target, &book, &message) != DW_OK)
            trial_fail(number, "the restored book does not open:", message.text);
        expect_sound(book, number, trial);
        dw_book_close(book);
        trial_remove_tree(target);
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
        trial_fail(0, "the book does not open", "");
    for (int i = 0; i < SPAN_JOBS; i++)
        if (trial_add_job(book, &number, NULL) != DW_OK)
            trial_fail(0, "a job is not kept", "");
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
            trial_remove_tree(trial.folder);
            trial_remove_tree(trial.backup);
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
    trial_remove_tree(parent);
    free(trial.folder);
    free(trial.backup);
    free(trial.ledger);
    free(parent);
    return 0;
}
