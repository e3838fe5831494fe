using Contracts.Agreements;
using Contracts.Host.Compliance;
using Contracts.Law;
using Contracts.Seals;
using Contracts.Store;
using Contracts.Store.Seals;
using NodaTime;

namespace Contracts.Host.Serving.Pages;

/// <summary>Every law pack, the last version of each.</summary>
public sealed record LawsModel(IReadOnlyList<LawPack> Packs);

/// <summary>One pack and its other versions.</summary>
public sealed record LawModel(LawPack Pack, IReadOnlyList<LawPack> Versions);

/// <summary>How the history is sealed.</summary>
public sealed record SealsModel(
    StoredCheckpoint? Head, long Waiting, string Origin, IReadOnlyList<NoteVerifier> Keys, SealedAnchor? Anchor, SealedAnchor? MonthEnd,
    IReadOnlyList<(long Size, TimeStamp? Stamp, StampFault? Fault)> Stamps);

/// <summary>Compliance's pages: the law that is loaded, and the seals.</summary>
internal static class LawPages
{
    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapPage("/law", LawsAsync);
        routes.MapPage("/law/{code}", LawAsync);
        routes.MapPage("/seals", SealsAsync);
    }

    private static async Task<IResult> LawsAsync(HttpContext context, ContractsStore store, CancellationToken stop)
    {
        var book = (await store.Reader.RatesAsync(Instant.MaxValue, stop)).Law;
        return PageHost.Of<LawsPage>(context, new LawsModel([.. LawBook.Jurisdictions.Select(code => LawCommand.Known(book, code).LastOrDefault()).OfType<LawPack>()]));
    }

    private static async Task<IResult> LawAsync(HttpContext context, ContractsStore store, string code, int? version, CancellationToken stop)
    {
        var versions = LawCommand.Known((await store.Reader.RatesAsync(Instant.MaxValue, stop)).Law, code).ToList();
        return versions.LastOrDefault(pack => version is null || pack.Version == version) is { } found
            ? PageHost.Of<LawPage>(context, new LawModel(found, versions))
            : PageHost.Refused(context, new Refusal(RefusalCode.StateUnknown, $"No law pack is known for '{code}'.", "jurisdiction"));
    }

    private static async Task<IResult> SealsAsync(HttpContext context, ContractsStore store, CancellationToken stop)
    {
        var seals = store.Seals;
        var size = await seals.SizeAsync(stop);
        var stamps = new List<(long, TimeStamp?, StampFault?)>();
        foreach (var kept in await store.Stamps.ListAsync(stop: stop))
        {
            var head = await seals.CheckpointAsync(kept.Size, stop);
            var (stamp, fault) = TimeStampCheck.Verify(kept.Token, System.Text.Encoding.UTF8.GetBytes(head?.Note ?? ""), null);
            stamps.Add((kept.Size, stamp, fault));
        }

        return PageHost.Of<SealsPage>(context, new SealsModel(
            await seals.LatestAsync(stop), await seals.WaitingAsync(stop), await seals.OriginAsync(stop), await seals.KeysAsync(stop),
            await seals.AnchorAsync(size, stop), await seals.LastMonthEndAsync(size, stop), stamps));
    }
}
