// SPDX-License-Identifier: Apache-2.0
// `shelf`: looms kept for the next vehicle of their kind. A loom is checked before it is put there; one with errors
// only as a draft.
#include <algorithm>
#include <map>

#include "app/book_files.h"
#include "app/loaded_loom.h"
#include "app/op_jobs.h"
#include "app/ops.h"
#include "app/words.h"
#include "formats/loom_text.h"
#include "text/path.h"

namespace halfsplit::app {

namespace {

struct ShelfRequest {
  Context& context;
  const Arguments& arguments;
  BookFiles& book;
  std::string name;  // of the loom
  std::string file;  // the words after it
};

struct ShelfWord {
  std::string_view word;
  bool wants_name;
  Reply (*run)(const ShelfRequest&);
};

std::string folder_part(const std::string& path) { return path.substr(0, path.rfind('/') + 1); }

std::string lower_case(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; });
  return text;
}

base::Result<circuit::Loom> read_shelved(const ShelfRequest& request, const std::string& name) {
  return formats::read_loom("shelf:" + name, [&](const std::string& file) {
    return request.context.files.read(is_shelf_path(file) ? file : "shelf:" + file, kMostBytes);
  });
}

// Every word of the search is in what is known of the loom, whatever the case of ASCII letters.
bool fits(const std::string& words, const std::string& about) {
  for (std::size_t at = 0; at < words.size();) {
    const std::size_t end = std::min(words.find(' ', at), words.size());
    if (about.find(words.substr(at, end - at)) == std::string::npos) return false;
    at = end + 1;
  }
  return true;
}

Reply shelf_list(const ShelfRequest& request) {
  const std::string words = lower_case(request.name + (request.file.empty() ? "" : " " + request.file));
  Reply reply;
  reply.result["looms"] = Json::array();
  for (const std::string& name : request.book.list("shelf:")) {
    const base::Result<circuit::Loom> loom = read_shelved(request, name);
    const std::string title = loom ? loom->name : "", vehicle = loom ? loom->vehicle : "";
    if (!fits(words, lower_case(name + " " + title + " " + vehicle))) continue;
    Json json{{"loom", "shelf:" + name}, {"name", title}, {"vehicle", vehicle}, {"draft", !loom.ok()}};
    if (loom)
      json.update({{"wires", loom->wires.size()}, {"parts", loom->parts.size()}, {"modules", loom->modules.size()}});
    reply.result["looms"].push_back(json);
    reply.text += "  " + padded("shelf:" + name, 26) +
                  wrap(loom ? title + (vehicle.empty() ? "" : ", " + vehicle) : "a draft", 28) + "\n";
  }
  const std::vector<std::string> removed = request.book.removed_looms();
  reply.result["removed"] = removed;
  if (reply.result["looms"].empty())
    reply.text = words.empty() ? "the shelf is empty: halfsplit shelf put NAME FILE\n" : "no loom fits\n";
  if (request.arguments.has("all"))
    for (const std::string& name : removed) reply.text += "  " + padded(name, 26) + "taken off\n";
  return reply;
}

// The text to be put there, and by name those of the files it includes.
struct ShelfTexts {
  std::string path, text;
  std::map<std::string, std::string> included;
  std::vector<base::Diagnostic> said;  // of reading it
  bool good = false;
};

base::Result<ShelfTexts> texts_to_shelve(const ShelfRequest& request) {
  ShelfTexts texts;
  if (request.arguments.has("text")) {
    texts.path = "shelf:" + request.name;
    texts.text = request.arguments.get("text");
  } else {
    texts.path = request.file;
    if (texts.path.empty())
      return base::make_error("shelf.no-file", "shelf put needs a loom file",
                              "halfsplit shelf put gritter gritter.loom.toml");
    const base::Result<std::string> text = request.context.files.read(texts.path, kMostBytes);
    if (!text) return text.diagnostics();
    texts.text = *text;
  }
  const bool from_shelf = is_shelf_path(texts.path);
  const base::Result<circuit::Loom> loom =
      formats::read_loom(texts.path, [&](const std::string& file) -> base::Result<std::string> {
        if (file == texts.path) return texts.text;
        base::Result<std::string> more =
            request.context.files.read(from_shelf && !is_shelf_path(file) ? "shelf:" + file : file, kMostBytes);
        if (more && !from_shelf) texts.included[file] = *more;
        return more;
      });
  texts.said = loom.diagnostics();
  texts.good = loom.ok();
  return texts;
}

// Included files come along under their own names; what stands there under such a name must be the same.
std::vector<base::Diagnostic> shelve_included(const ShelfRequest& request, const ShelfTexts& texts) {
  for (const auto& [path, text] : texts.included) {
    if (folder_part(path) != folder_part(texts.path))
      return {base::make_error("shelf.include", texts.path + " includes " + path + ", which is in another folder",
                               "on the shelf all looms stand side by side: put them into one folder first")};
    const std::string name = "shelf:" + path.substr(folder_part(path).size());
    if (!request.book.exists(name)) continue;
    const base::Result<std::string> there = request.book.read(name, kMostBytes);
    if (!there || *there != text)
      return {base::make_error("shelf.exists",
                               "another loom stands on the shelf as " + name + ", which " + texts.path + " includes",
                               "rename the included file")};
  }
  for (const auto& [path, text] : texts.included) {
    const base::Result<base::Done> done = request.book.write("shelf:" + path.substr(folder_part(path).size()), text);
    if (!done) return done.diagnostics();
  }
  return {};
}

// Another loom under that name: kept aside when it is to be replaced, or when a sound one gives way to a draft. True
// when one was.
base::Result<bool> make_way(const ShelfRequest& request, const std::string& path, const ShelfTexts& texts) {
  if (!request.book.exists(path)) return false;
  const base::Result<std::string> there = request.book.read(path, kMostBytes);
  if (there && *there == texts.text) return false;
  const bool force = request.arguments.has("force");
  if (!force && !request.arguments.has("draft"))
    return base::make_error("shelf.exists", "another loom stands there as " + path,
                            "give it another name, or replace it with --force; the old one is kept aside");
  if (!force && (texts.good || !read_shelved(request, request.name))) return false;
  const base::Result<base::Done> aside = request.book.remove_loom(request.name);
  if (!aside) return aside.diagnostics();
  return true;
}

Reply shelf_put(const ShelfRequest& request) {
  const base::Result<std::string> file = request.book.shelf_file(request.name);
  if (!file) return fail(file.diagnostics());
  const base::Result<ShelfTexts> texts = texts_to_shelve(request);
  if (!texts) return fail(texts.diagnostics());
  if (!texts->good && !request.arguments.has("draft")) {
    Reply refused = fail(texts->said);
    refused.result["errors"] = texts->said.size();
    refused.text = "not put on the shelf; mend it, or keep it as it is with --draft\n";
    return refused;
  }
  const std::string path = "shelf:" + request.name;
  const base::Result<bool> replaced = make_way(request, path, *texts);
  if (!replaced) return fail(replaced.diagnostics());
  const std::vector<base::Diagnostic> problems = shelve_included(request, *texts);
  if (!problems.empty()) return fail(problems);
  const base::Result<base::Done> done = request.book.write(path, texts->text);
  if (!done) return fail(done.diagnostics());
  Reply reply;
  reply.diagnostics = texts->said;
  reply.result = {{"loom", path}, {"draft", !texts->good}, {"replaced", *replaced}};
  reply.text = (texts->good ? "on the shelf: " : "kept as a draft: ") + path + "\n";
  if (texts->good) reply.text += "A job on it: halfsplit open " + path + " --complaint \"...\"\n";
  return reply;
}

Reply shelf_get(const ShelfRequest& request) {
  const std::string path = "shelf:" + request.name;
  const base::Result<std::string> text = request.book.read(path, kMostBytes);
  if (!text) return fail(text.diagnostics());
  Reply reply;
  reply.result = {{"loom", path}};
  const std::string out = request.arguments.get("out");
  if (out.empty()) {
    reply.result["text"] = *text;
    reply.text = *text;
    return reply;
  }
  if (request.context.files.exists(out) && !request.arguments.has("force"))
    return fail(
        base::make_error("shelf.exists", "there is already a file " + out, "name another, or replace it with --force"));
  const base::Result<base::Done> done = request.context.files.write(out, *text);
  if (!done) return fail(done.diagnostics());
  reply.result["out"] = out;
  reply.text = "wrote " + out + "\n";
  return reply;
}

Reply shelf_remove(const ShelfRequest& request) {
  const base::Result<base::Done> done = request.book.remove_loom(request.name);
  if (!done) return fail(done.diagnostics());
  Reply reply;
  reply.result = {{"loom", "shelf:" + request.name}, {"removed", true}};
  reply.text = "off the shelf; nothing is lost: halfsplit shelf restore " + request.name + "\n";
  return reply;
}

Reply shelf_restore(const ShelfRequest& request) {
  const base::Result<base::Done> done = request.book.restore_loom(request.name);
  if (!done) return fail(done.diagnostics());
  Reply reply;
  reply.result = {{"loom", "shelf:" + request.name}, {"removed", false}};
  reply.text = "on the shelf again: shelf:" + request.name + "\n";
  return reply;
}

constexpr ShelfWord kShelfWords[] = {{"list", false, shelf_list},    {"find", false, shelf_list},
                                     {"put", true, shelf_put},       {"get", true, shelf_get},
                                     {"remove", true, shelf_remove}, {"restore", true, shelf_restore}};

}  // namespace

Reply op_shelf(Context& context, const Arguments& arguments) {
  const std::string word = arguments.get("do", "list");
  const auto* const found = std::find_if(std::begin(kShelfWords), std::end(kShelfWords),
                                         [&](const ShelfWord& one) { return one.word == word; });
  if (found == std::end(kShelfWords)) {
    std::vector<std::string> words;
    for (const ShelfWord& one : kShelfWords) words.emplace_back(one.word);
    return usage_error("shelf.unknown-word", "shelf cannot \"" + word + "\"", words_hint(word, words));
  }
  if (context.book == nullptr)
    return fail(base::make_error("book.nowhere", "there is no shelf of looms here", "use the command line"));
  const std::string what = arguments.get("what");
  const std::size_t cut = what.find(' ');
  ShelfRequest request{context, arguments, *context.book, what.substr(0, cut),
                       cut == std::string::npos ? "" : what.substr(cut + 1)};
  if (is_shelf_path(request.name)) request.name.erase(0, 6);
  if (found->wants_name && request.name.empty())
    return usage_error("shelf.no-name", "shelf " + word + " needs the name of a loom",
                       "halfsplit shelf " + word + " gritter");
  return found->run(request);
}

}  // namespace halfsplit::app
