// SPDX-License-Identifier: MIT
// What of `bench` needs the web bench itself: this is linked into the program that serves, deckwright-bench.
#include "base/place.h"
#include "base/text.h"
#include "cli/bench_call.h"
#include "web/bench/bench.h"
#include "web/server/password.h"
#include "cli/tell.h"

#include <errno.h>
#include <locale.h>
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

enum { USUAL_PORT = 8710 };

static const char *const keys[] = {"listen", "port", "name", "certificate", "key", "open", NULL};

static DwStatus read_port(const DwBookCall *call, unsigned *port, DwMessage *message)
{
    const char *text = dw_book_call_operand(call, "port");
    *port = USUAL_PORT;
    if (!text)
        return DW_OK;
    char *end;
    unsigned long value = strtoul(text, &end, 10);
    if (end == text || *end || value > 65535)
        return dw_fail(message, DW_BAD_INPUT,
                       "'%s' is no port. Give a number from 1 to 65535, or 0 for any that is free.", text);
    *port = (unsigned)value;
    return DW_OK;
}

// Waits for the terminal's or the system's word to end.
static void wait_for_end(void)
{
    sigset_t set;
    sigemptyset(&set);
    sigaddset(&set, SIGINT);
    sigaddset(&set, SIGTERM);
    int got;
    sigwait(&set, &got);
}

// Shows ADDRESS in the browser of the desktop, as far as there is one.
static void show_in_browser(const char *address)
{
    pid_t child = fork();
    if (child != 0)
        return;
    sigset_t none;
    sigemptyset(&none);
    sigprocmask(SIG_SETMASK, &none, NULL);
    execlp("xdg-open", "xdg-open", address, (char *)NULL);
    _exit(127);
}

static DwStatus read_open(const DwBookCall *call, bool *open, DwMessage *message)
{
    const char *word = dw_book_call_operand(call, "open");
    *open = word && strcmp(word, "yes") == 0;
    if (word && !*open && strcmp(word, "no") != 0)
        return dw_fail(message, DW_BAD_INPUT,
                       "open=%s is neither yes nor no: whether the browser is to open the bench.", word);
    return DW_OK;
}

// Before any thread starts, so that none of them takes the signals.
static void hold_signals(void)
{
    sigset_t set;
    sigemptyset(&set);
    sigaddset(&set, SIGINT);
    sigaddset(&set, SIGTERM);
    pthread_sigmask(SIG_BLOCK, &set, NULL);
}

// Pages work without their files of looks and keys, but nobody would know why they look so.
static void warn_of_looks(void)
{
    char *path = dw_text_format("%s/web/bench.css", dw_data_folder());
    if (access(path, R_OK) != 0)
        dw_tell(stderr,
                "deckwright: %s cannot be opened (%s). The pages come without their looks; put the folder back.\n",
                path, strerror(errno));
    free(path);
}

DwStatus dw_bench_call_serve(DwBookCall *call, DwMessage *message)
{
    DwServerSettings settings = {
        .book = call->folder,
        .address = dw_book_call_operand(call, "listen"),
        .name = dw_book_call_operand(call, "name"),
        .certificate = dw_book_call_operand(call, "certificate"),
        .key = dw_book_call_operand(call, "key"),
    };
    DwStatus status = dw_book_call_only(call, keys, message);
    if (status == DW_OK)
        status = read_port(call, &settings.port, message);
    bool open = false;
    if (status == DW_OK)
        status = read_open(call, &open, message);
    if (status != DW_OK)
        return status;
    bool found;
    status = dw_book_find(call->folder, &found, message);
    if (status == DW_OK && !found)
        status = dw_fail(message, DW_BAD_INPUT,
                         "There is no job book in %s. 'deckwright book new --book %s' starts one there; 'deckwright "
                         "demo-shop FOLDER' makes an invented shop to try it all.",
                         call->folder, call->folder);
    if (status != DW_OK)
        return status;
    setlocale(LC_MESSAGES, "");
    hold_signals();
    DwBench *bench;
    status = dw_bench_start(&settings, &bench, message);
    if (status != DW_OK)
        return status;
    const DwServer *server = dw_bench_server(bench);
    dw_tell(stdout, "The bench is at %s\n", dw_server_url(server));
    if (dw_server_outside(server))
        dw_tell(stdout, "Other devices find it at %s/\n", dw_server_outside(server));
    dw_tell(stdout, "Ctrl+C ends it.\n");
    fflush(stdout);
    warn_of_looks();
    if (open)
        show_in_browser(dw_server_url(server));
    wait_for_end();
    dw_bench_stop(bench);
    dw_tell(stdout, "The bench has ended.\n");
    return DW_OK;
}

enum { LINE = 1024 };

// One line of the standard input without its end; false when none came.
static bool read_line(char line[LINE])
{
    if (!fgets(line, LINE, stdin))
        return false;
    line[strcspn(line, "\r\n")] = '\0';
    return true;
}

// Asks at the terminal and shows nothing of what is typed.
static bool ask_unseen(const char *words, char line[LINE])
{
    struct termios shown, unseen;
    bool terminal = tcgetattr(STDIN_FILENO, &shown) == 0;
    unseen = shown;
    unseen.c_lflag &= ~(tcflag_t)ECHO;
    fprintf(stderr, "%s: ", dw_said(words));
    if (terminal)
        tcsetattr(STDIN_FILENO, TCSAFLUSH, &unseen);
    bool read = read_line(line);
    if (terminal)
        tcsetattr(STDIN_FILENO, TCSAFLUSH, &shown);
    fputc('\n', stderr);
    return read;
}

// Twice from a terminal, once from a pipe.
static DwStatus read_password(char password[LINE], DwMessage *message)
{
    char again[LINE];
    bool terminal = isatty(STDIN_FILENO);
    bool read = terminal ? ask_unseen(N_("The shop's password"), password) : read_line(password);
    if (!read)
        return dw_fail(message, DW_BAD_INPUT, "No password came. Type it, or pass it in a pipe.");
    if (!terminal)
        return DW_OK;
    bool same = ask_unseen("Again", again) && strcmp(password, again) == 0;
    explicit_bzero(again, sizeof again);
    return same ? DW_OK : dw_fail(message, DW_BAD_INPUT, "The two differ. Nothing was changed.");
}

DwStatus dw_bench_call_password(DwBookCall *call, DwMessage *message)
{
    char password[LINE];
    DwStatus status = read_password(password, message);
    if (status == DW_OK)
        status = dw_password_set(call->book, password, message);
    explicit_bzero(password, sizeof password);
    if (status == DW_OK)
        dw_tell(stdout, "The password is kept. Devices that are paired stay paired.\n");
    return status;
}
