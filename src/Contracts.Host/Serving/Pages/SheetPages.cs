using System.Text.Json;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Host.Compliance;
using Contracts.Host.Reconstruct;
using Contracts.Host.Serving.Api;
using Contracts.Law;
using Contracts.Store;
using Contracts.Store.Papers;
using Contracts.Store.Seals;
using NodaTime;

namespace Contracts.Host.Serving.Pages;

/// <summary>A line of a disclosure sheet as it was given, and the sections of the law pack that ask for it.</summary>
public sealed record GivenLine(string Item, string Heading, string Text, IReadOnlyList<string> AskedBy);

/// <summary>A sheet that was given: the paper it is in, its lines, what the pack of its day asks for and it does not say,
/// and what is not as it was when the paper is made again.</summary>
public sealed record GivenSheet(IssuedPaper Paper, IReadOnlyList<GivenLine> Lines, IReadOnlyList<string> Unsaid, IReadOnlyList<string> Differs);

/// <summary>
/// What compliance holds beside each other: the sheets that were given, the law pack, the figures, and how far the seals have come.
/// </summary>
/// <param name="Account">The account as of the day, as known then.</param>
/// <param name="IsNow">Whether that is today, as known now.</param>
/// <param name="KnownText">The knowledge as asked, or nothing.</param>
/// <param name="Pack">The law pack the contract is under, or null where none is recorded.</param>
/// <param name="Sheets">The sheets that were given, the first one first.</param>
/// <param name="Events">How many events the contract has by then.</param>
/// <param name="Sealed">How many of them are under the newest signed head.</param>
/// <param name="Head">That head, or null where nothing is signed.</param>
/// <param name="Anchor">The last anchor, which says when, or null.</param>
/// <param name="Now">The present moment of the store.</param>
public sealed record SheetModel(
    Account Account, bool IsNow, string KnownText, LawPack? Pack, IReadOnlyList<GivenSheet> Sheets, int Events, long Sealed, StoredCheckpoint? Head,
    SealedAnchor? Anchor, Instant Now);

/// <summary>The disclosure sheet as it was given, beside the law pack and the figures.</summary>
internal static class SheetPages
{
    public static void Map(IEndpointRouteBuilder routes) => routes.MapPage("/account/{contract}/disclosures", SheetAsync);

    private static async Task<IResult> SheetAsync(HttpContext context, ContractsStore store, string contract, string? on, string? known, CancellationToken stop)
    {
        var (question, refusal) = await Question.ReadAsync(store, on, known, stop);
        if (refusal is not null) { return PageHost.Refused(context, refusal); }
        var history = await store.Reader.HistoryAsync(contract, question.Known, stop);
        if (history is null || AccountFold.At(history, await store.Reader.RatesAsync(question.Known, stop), question.On) is not { } state)
        {
            return PageHost.Refused(context, AccountEndpoints.Unknown(contract));
        }

        var pack = state.Law is { Version: > 0 } law ? law : null;
        var sheets = new List<GivenSheet>();
        foreach (var paper in PaperArchive.Of(history).Where(paper => paper.Event.Kind is "agreement" or "exchange"))
        {
            var again = await store.Papers.MakeAgainAsync(paper.Id, stop);
            // A family that moved is under another pack now; the sheet was asked for by the one of its day.
            var through = paper.Event.ThroughSequence;
            var then = AccountFold.At(history.ThroughSequence(through), await store.Reader.RatesThroughAsync(through, stop), paper.Event.On);
            var asked = AskedItems.OfAgreement(then?.Law, paper.Event.On, history.Signing.Instrument.SchoolUse ?? false).ToList();
            if (again?.Data is null) { sheets.Add(new GivenSheet(paper, [], [], again?.Differs ?? [])); }
            else if (Lines(again.Data, asked) is { Count: > 0 } lines) { sheets.Add(new GivenSheet(paper, lines, Unsaid(asked, lines), again.Differs)); }
        }

        var head = await store.Seals.LatestAsync(stop);
        return PageHost.Of<DisclosuresPage>(context, new SheetModel(
            Account.Of(state, question.Known.At), string.IsNullOrEmpty(on) && string.IsNullOrEmpty(known), known ?? "", pack, sheets,
            history.Entries.Length, head is null ? 0 : Math.Min(history.Entries.Length, await store.Seals.VersionAsync(contract, head.Size, stop)), head,
            head is null ? null : await store.Seals.AnchorAsync(head.Size, stop), await store.Reader.NowAsync(stop)));
    }

    private static IReadOnlyList<string> Unsaid(IReadOnlyList<AskedItem> asked, IReadOnlyList<GivenLine> lines) =>
        [.. asked.Where(one => lines.All(line => line.Item != one.Item.Code())).Select(one => $"{one.Item.Heading()} ({one.Citation})").Distinct()];

    /// <summary>The lines of a sheet from the data of its paper, which is what was printed.</summary>
    private static List<GivenLine> Lines(byte[] data, IReadOnlyList<AskedItem> asked)
    {
        using var paper = JsonDocument.Parse(data);
        foreach (var part in new[] { "agreement", "exchange" })
        {
            if (!paper.RootElement.TryGetProperty(part, out var of) || of.ValueKind != JsonValueKind.Object) { continue; }
            if (!of.TryGetProperty("disclosures", out var lines) || lines.ValueKind != JsonValueKind.Array) { continue; }
            return [.. lines.EnumerateArray().Select(line => (Item: line.GetProperty("item").GetString()!, Line: line)).Select(one => new GivenLine(
                one.Item, one.Line.GetProperty("heading").GetString()!, one.Line.GetProperty("text").GetString()!,
                [.. asked.Where(ask => ask.Item.Code() == one.Item).Select(ask => ask.Citation).Distinct()]))];
        }

        return [];
    }
}
