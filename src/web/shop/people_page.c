// SPDX-License-Identifier: MIT
// The people at the bench: who is at work on this device, and the shop's list of them.
#include "base/text.h"
#include "web/page/page.h"
#include "web/page/person_mark.h"
#include "web/server/gate.h"
#include "web/server/password.h"
#include "web/server/person.h"
#include "web/server/words.h"
#include "web/shop/pages.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *right_words(DwRight right)
{
    static const char *const words[] = {
        [DW_RIGHT_COUNTER] = N_("Counter"), [DW_RIGHT_TECHNICIAN] = N_("Technician"), [DW_RIGHT_OWNER] = N_("Owner")};
    return dw_words(words[right]);
}

// --- who is at work ------------------------------------------------

// Who is an owner shows the password once, unless an owner is at work here already.
static bool asks_password(const DwWebRequest *request, const DwPerson *person)
{
    bool is_owner = request->person && request->person->right == DW_RIGHT_OWNER;
    return person->right == DW_RIGHT_OWNER && !is_owner && dw_password_is_set(request->book);
}

static void write_choice(DwPage *page, const DwPerson *person, const char *to)
{
    DwHtml *html = page->html;
    bool here = page->request->person == person;
    dw_html_open(html, "li", "class", "card", NULL);
    dw_form_begin(page, "/who", false);
    dw_html_void(html, "input", "type", "hidden", "name", "to", "value", to, NULL);
    dw_html_void(html, "input", "type", "hidden", "name", "person", "value", person->name, NULL);
    if (asks_password(page->request, person)) {
        char *label = dw_text_format(_("The shop's password, for %s"), person->name);
        dw_form_text(page, "password", label, "", "password", NULL);
        free(label);
    }
    dw_html_open(html, "button", "type", "submit", "class", here ? "person-choice" : "second person-choice",
                 "aria-pressed", here ? "true" : "false", NULL);
    dw_person_mark_write(html, person->mark);
    dw_html_open(html, "span", NULL);
    dw_html_text(html, person->name);
    dw_html_element(html, "small", right_words(person->right), NULL);
    dw_html_close(html, "span");
    dw_html_close(html, "button");
    dw_form_end(page);
    dw_html_close(html, "li");
}

static const char *wanted(const DwWebRequest *request, const char *path)
{
    return dw_gate_is_page(request, path) ? path : "/";
}

static DwAnswer show_who(const DwWebRequest *request)
{
    const char *to = wanted(request, dw_request_query(request, "to"));
    DwPage *page =
        dw_page_begin(request, &(DwPageHead){.title = _("Who is at work?"), .room = DW_ROOM_SHOP, .style = "shop.css"});
    DwHtml *html = page->html;
    dw_html_element(html, "h1", _("Who is at work?"), NULL);
    if (!request->people->count)
        dw_html_element(html, "p",
                        _("Nobody is listed yet: what is done here is noted under the name of the device. List the "
                          "people of the shop, and it is noted under theirs."),
                        "class", "lead", NULL);
    dw_html_open(html, "ul", "class", "cards", NULL);
    for (size_t i = 0; i < request->people->count; i++)
        write_choice(page, &request->people->list[i], to);
    dw_html_close(html, "ul");
    if (request->person) {
        dw_form_begin(page, "/who", false);
        dw_html_void(html, "input", "type", "hidden", "name", "person", "value", "", NULL);
        dw_html_void(html, "input", "type", "hidden", "name", "to", "value", to, NULL);
        dw_html_element(html, "button", _("Nobody in particular"), "type", "submit", "class", "second", NULL);
        dw_form_end(page);
    }
    dw_html_open(html, "p", "class", "acts", NULL);
    dw_html_element(html, "a", _("People of the shop"), "href", "/shop/people", "class", "button second", NULL);
    dw_html_close(html, "p");
    return dw_page_end(page);
}

static bool shows_password(const DwWebRequest *request, const DwPerson *person, DwAnswer *refusal)
{
    if (!person || !asks_password(request, person))
        return true;
    bool right;
    unsigned wait = dw_access_try(dw_gate_access(request), request->book, dw_gate_who(request),
                                  dw_request_field(request, "password"), &right);
    if (wait)
        *refusal = dw_answer_refusal_at("/who", 429, _("Too many wrong passwords. Wait a while, then try again."));
    else if (!right)
        *refusal = dw_answer_refusal_at("/who", 403, _("That is not the shop's password."));
    return right;
}

static DwAnswer choose(const DwWebRequest *request)
{
    const char *name = dw_request_field(request, "person");
    const DwPerson *person = dw_people_find(request->people, name);
    DwAnswer answer;
    if (*name && !person)
        return dw_answer_refusal_at("/who", 404, _("Nobody of that name is on the list."));
    if (!shows_password(request, person, &answer))
        return answer;
    answer = dw_answer_go("%s", wanted(request, dw_request_field(request, "to")));
    dw_person_choose(request, person, &answer);
    return answer;
}

// --- the list ------------------------------------------------------

static void write_marks(DwPage *page, unsigned chosen)
{
    DwHtml *html = page->html;
    dw_html_open(html, "fieldset", "class", "person-marks", NULL);
    dw_html_element(html, "legend", _("Mark"), NULL);
    for (unsigned mark = 1; mark <= DW_PEOPLE_MARKS; mark++) {
        char value[8];
        snprintf(value, sizeof value, "%u", mark);
        dw_html_open(html, "label", "class", "tick", NULL);
        dw_html_void(html, "input", "type", "radio", "name", "mark", "value", value, "checked",
                     DW_HTML_IF(mark == chosen), "aria-label", dw_person_mark_words(mark), NULL);
        dw_person_mark_write(html, mark);
        dw_html_close(html, "label");
    }
    dw_html_close(html, "fieldset");
}

static void write_person_form(DwPage *page, const DwPerson *person, unsigned free_mark)
{
    const char *const words[] = {right_words(DW_RIGHT_COUNTER), right_words(DW_RIGHT_TECHNICIAN),
                                 right_words(DW_RIGHT_OWNER)};
    const char *const values[] = {dw_right_word(DW_RIGHT_COUNTER), dw_right_word(DW_RIGHT_TECHNICIAN),
                                  dw_right_word(DW_RIGHT_OWNER)};
    DwRight right = person ? person->right : page->request->people->count ? DW_RIGHT_TECHNICIAN : DW_RIGHT_OWNER;
    DwHtml *html = page->html;
    dw_form_begin(page, "/shop/people", false);
    dw_html_void(html, "input", "type", "hidden", "name", "person", "value", person ? person->name : "", NULL);
    dw_html_open(html, "div", "class", "fields", NULL);
    dw_form_text(page, "name", _("Name"), person ? person->name : "", "text", NULL);
    dw_form_choice(page, "right", _("May work as"), words, values, 3, dw_right_word(right), NULL);
    dw_html_close(html, "div");
    write_marks(page, person ? person->mark : free_mark);
    dw_html_open(html, "div", "class", "acts", NULL);
    dw_form_button(page, person ? _("Keep") : _("Add"));
    if (person) {
        char *words_off = dw_text_format(_("Take %s off the list"), person->name);
        dw_html_element(html, "button", words_off, "type", "submit", "name", "off", "value", "yes", "class", "danger",
                        NULL);
        free(words_off);
    }
    dw_html_close(html, "div");
    dw_form_end(page);
}

static void write_person(DwPage *page, const DwPerson *person)
{
    DwHtml *html = page->html;
    dw_html_open(html, "li", "class", "card", NULL);
    dw_html_open(html, "details", NULL);
    dw_html_open(html, "summary", NULL);
    dw_person_mark_write(html, person->mark);
    dw_html_format(html, "%s, %s", person->name, right_words(person->right));
    dw_html_close(html, "summary");
    write_person_form(page, person, 1);
    dw_html_close(html, "details");
    dw_html_close(html, "li");
}

static DwAnswer show_people(const DwWebRequest *request)
{
    const DwPeople *people = request->people;
    DwPage *page = dw_page_begin(
        request, &(DwPageHead){.title = _("People of the shop"), .room = DW_ROOM_SHOP, .style = "shop.css"});
    DwHtml *html = page->html;
    dw_html_element(html, "h1", _("People of the shop"), NULL);
    dw_html_element(html, "p",
                    _("Who works here says so once on each device, and what they do is noted under their name. The "
                      "counter takes in, talks to owners, bills and hands over; a technician also measures and works; "
                      "an owner also changes the shop: its settings, prices, limits, devices, and this list."),
                    NULL);
    dw_html_open(html, "ul", "class", "cards", NULL);
    for (size_t i = 0; i < people->count; i++)
        write_person(page, &people->list[i]);
    dw_html_close(html, "ul");
    if (people->count < DW_PEOPLE_MOST) {
        dw_html_element(html, "h2", _("Add a person"), NULL);
        write_person_form(page, NULL, dw_people_free_mark(people));
    }
    dw_html_open(html, "p", "class", "acts", NULL);
    dw_html_element(html, "a", _("Who is at work?"), "href", "/who", "class", "button second", NULL);
    dw_html_close(html, "p");
    return dw_page_end(page);
}

// Puts what was sent into PEOPLE. Returned: why that cannot be, or NULL.
static const char *take_person(const DwWebRequest *request, DwPeople *people)
{
    const char *old = dw_request_field(request, "person"), *name = dw_request_field(request, "name"),
               *right = dw_request_field(request, "right");
    size_t place = 0;
    while (place < people->count && strcmp(people->list[place].name, old) != 0)
        place++;
    if (*old && place == people->count)
        return _("Nobody of that name is on the list any more.");
    if (*dw_request_field(request, "off")) {
        memmove(&people->list[place], &people->list[place + 1], (people->count - place - 1) * sizeof *people->list);
        people->count--;
        return NULL;
    }
    if (!*old)
        place = people->count;
    if (place == DW_PEOPLE_MOST)
        return _("Twenty-four people are listed at most.");
    if (!*name || strlen(name) >= DW_PERSON_NAME)
        return _("Give a name of at most sixty letters.");
    DwPerson person = {.right = DW_RIGHT_OWNER, .mark = (unsigned)strtoul(dw_request_field(request, "mark"), NULL, 10)};
    snprintf(person.name, sizeof person.name, "%s", name);
    while (person.right > DW_RIGHT_COUNTER && strcmp(dw_right_word(person.right), right) != 0)
        person.right--;
    if (!person.mark || person.mark > DW_PEOPLE_MARKS)
        person.mark = dw_people_free_mark(people);
    people->list[place] = person;
    people->count += !*old;
    return NULL;
}

static DwAnswer keep_people(const DwWebRequest *request)
{
    DwPeople people;
    DwMessage message;
    const char *wrong = NULL;
    DwStatus status = dw_book_begin(request->book, &message); // nobody else writes between
    if (status == DW_OK) {
        dw_people_read(request->book, &people);
        wrong = take_person(request, &people);
        status = wrong ? DW_BAD_INPUT : dw_people_keep(request->book, &people, &message);
        status = dw_book_end(request->book, status, &message);
    }
    if (wrong)
        return dw_answer_refusal_at("/shop/people", 400, wrong);
    if (status != DW_OK)
        return dw_answer_trouble(status, &message);
    DwAnswer answer = dw_answer_kept(_("The list of people is kept."), "/shop/people");
    // Whoever made the list stays who they are, were it under another name.
    const char *old = dw_request_field(request, "person"), *name = dw_request_field(request, "name");
    if (request->person && strcmp(request->person->name, old) == 0 && !*dw_request_field(request, "off"))
        dw_person_choose(request, dw_people_find(&people, name), &answer);
    return answer;
}

const DwWebRoute dw_routes_people[] = {
    {"GET", "/who", show_who, .open = false},
    {"POST", "/who", choose, .open = false},
    {"GET", "/shop/people", show_people, .open = false},
    {"POST", "/shop/people", keep_people, .open = false},
    {0},
};
