using System.Text;
using System.Text.Json.Nodes;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Replays;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Host.Replay;

/// <summary>An account in one expected view.</summary>
/// <param name="Contract">The contract, by its new id.</param>
/// <param name="On">The day.</param>
/// <param name="Known">The moment.</param>
/// <param name="Account">The account's JSON without what counts events; null where nothing is signed.</param>
internal sealed record ExpectedView(string Contract, LocalDate On, Instant Known, JsonObject? Account);

/// <summary>
/// An extract: a command file, and beside it the figures it must give (docs/replay.md). Nobody's name, number or words are
/// in it, and nothing of the vault.
/// </summary>
internal static class Extract
{
    private const int MostViews = 8;

    /// <summary>Where the expected figures of a command file are.</summary>
    public static string ExpectedOf(string path) => $"{path}.expected";

    /// <summary>Makes the extract of contracts: command lines and expected views.</summary>
    public static (byte[] Lines, IReadOnlyList<ExpectedView> Views) Of(IReadOnlyCollection<ContractHistory> histories, KnownReference reference, LocalDate today)
    {
        var maker = new ExtractLines();
        var lines = string.Concat(maker.Of(histories, reference).Select(line => line.ToJsonString(Relaxed) + "\n"));
        var views = histories.SelectMany(history => Moments(history, today).Select(view =>
            Expected(maker.Contracts[history.Contract], history, reference, view.On, view.Known))).ToList();
        var bytes = Encoding.UTF8.GetBytes(lines);

        // Serials have their new names in the replayed account only.
        var shop = ReplaySource.Obey(bytes, "extract");
        return (bytes, [.. views.Select(view => view with { Account = Renamed(view, shop) })]);
    }

    /// <summary>The views of a file as the rules of this build make them, beside those expected; only those that differ.</summary>
    public static IEnumerable<(ExpectedView Expected, JsonObject? Now)> Differing(MemoryShop shop, IEnumerable<ExpectedView> expected)
    {
        foreach (var view in expected)
        {
            var now = Now(shop, view);
            if (now?.ToJsonString() != view.Account?.ToJsonString()) { yield return (view, now); }
        }
    }

    /// <summary>The expected figures as lines.</summary>
    public static byte[] Text(IEnumerable<ExpectedView> views) => Encoding.UTF8.GetBytes(string.Concat(views.Select(view => new JsonObject
    {
        ["contract"] = view.Contract, ["on"] = LocalDatePattern.Iso.Format(view.On), ["known"] = InstantPattern.ExtendedIso.Format(view.Known),
        ["account"] = view.Account?.DeepClone(),
    }.ToJsonString(Relaxed) + "\n")));

    /// <summary>Reads expected figures.</summary>
    /// <exception cref="UsageException">They are none.</exception>
    public static IReadOnlyList<ExpectedView> Read(string path)
    {
        try
        {
            return [.. File.ReadLines(path).Where(line => line.Length > 0).Select(line =>
            {
                var json = JsonNode.Parse(line)!.AsObject();
                return new ExpectedView(
                    (string)json["contract"]!, LocalDatePattern.Iso.Parse((string)json["on"]!).GetValueOrThrow(),
                    InstantPattern.ExtendedIso.Parse((string)json["known"]!).GetValueOrThrow(), json["account"]?.AsObject());
            })];
        }
        catch (Exception wrong) when (wrong is System.Text.Json.JsonException or InvalidOperationException or UnparsableValueException or ArgumentNullException)
        {
            throw new UsageException($"{Path.GetFileName(path)} has no expected figures: {wrong.Message}");
        }
    }

    private static readonly System.Text.Json.JsonSerializerOptions Relaxed = new() { Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    /// <summary>After some of the events as it was known then, and on the last day with all that is known.</summary>
    private static IEnumerable<(LocalDate On, Instant Known)> Moments(ContractHistory history, LocalDate today)
    {
        var moments = history.Entries.Select(entry => entry.At).Distinct().ToList();
        var apart = Math.Max(1, moments.Count / MostViews);
        for (var index = 0; index < moments.Count; index += apart)
        {
            var known = history.AsKnownAt(moments[index]);
            yield return (Books.Postings.PostedThrough(known), moments[index]);
        }

        yield return (today, moments[^1]);
        // As best known of a day in the middle of what is known.
        yield return (history.Facts[history.Facts.Length / 2].Event.On, moments[^1]);
    }

    private static ExpectedView Expected(string contract, ContractHistory history, KnownReference reference, LocalDate on, Instant known) =>
        new(contract, on, known, View(history, reference, on, known));

    private static JsonObject? Now(MemoryShop shop, ExpectedView view) =>
        shop.Histories.FirstOrDefault(one => one.Contract == view.Contract) is { } history ? View(history, shop.Reference, view.On, view.Known) : null;

    private static JsonObject? View(ContractHistory history, KnownReference reference, LocalDate on, Instant known)
    {
        var seen = history.AsKnownAt(known);
        var rates = reference.Facts.LastOrDefault(fact => fact.At <= known) is { } last ? reference.Through(last.Sequence) : Terms.ReferenceData.None;
        if (AccountFold.At(seen, rates, on) is not { } state) { return null; }
        var json = JsonNode.Parse(AccountPrinter.Json(writer => AccountJson.Write(writer, Account.Of(state, known))))!.AsObject();

        // A replayed store has other sequences, no notes of papers, and keys of strangers, which name no old book.
        json.Remove("events");
        json.Remove("lastSequence");
        json.Remove("takenOver");
        return json;
    }

    /// <summary>The figures are the original's; names and ids are those of the replayed account.</summary>
    private static JsonObject? Renamed(ExpectedView view, MemoryShop shop)
    {
        if (view.Account is not { } account || Now(shop, view) is not { } other) { return view.Account; }
        account["contract"] = view.Contract;
        account["instrument"]!["serial"] = other["instrument"]!["serial"]!.DeepClone();
        var (items, others) = (account["openItems"]!.AsArray(), other["openItems"]!.AsArray());
        for (var index = 0; index < Math.Min(items.Count, others.Count); index++)
        {
            if (KindOf(items[index]!) == KindOf(others[index]!)) { items[index]!["id"] = others[index]!["id"]!.DeepClone(); }
        }

        return account;
    }

    private static string KindOf(JsonNode item) => $"{(string?)item["kind"]} {(string?)item["part"]} {(string?)item["dueOn"]}";
}
