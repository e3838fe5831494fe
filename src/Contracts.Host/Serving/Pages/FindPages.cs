using Contracts.Disclosures;
using Contracts.History;
using Contracts.Store;
using NodaTime;

namespace Contracts.Host.Serving.Pages;

/// <summary>A contract in a list: what found it, and where it stands today.</summary>
public sealed record FoundLine(Found Found, string Kind, string Status, Money Equity, Money PastDue);

/// <summary>What was looked for and what was found.</summary>
public sealed record FindModel(string Text, IReadOnlyList<FoundLine> Lines, bool All, long Contracts);

/// <summary>The first page: one field for whatever is in hand.</summary>
internal static class FindPages
{
    private const int Most = 50;

    public static void Map(IEndpointRouteBuilder routes) => routes.MapPage("/", FindAsync);

    private static async Task<IResult> FindAsync(HttpContext context, ContractsStore store, string? q, CancellationToken stop)
    {
        var text = q ?? "";
        var households = PageHost.ShowsHouseholds(context);
        var found = (await store.Finder.FindAsync(text, stop)).Where(one => households || one.By != "household").ToList();
        if (found is [var only] && text.Length > 0) { return Results.Redirect($"/account/{Uri.EscapeDataString(only.Contract)}"); }
        var known = await store.Reader.NowAsync(stop);
        var day = known.InZone(Terminal.Session.Zone).Date;
        // A unit that no contract has had yet.
        if (found.Count == 0 && text.Trim() is { Length: > 0 } serial && await store.Units.FindAsync(serial, day, known, stop) is not null)
        {
            return Results.Redirect(FleetPages.PlaceOf(serial));
        }

        var rates = await store.Reader.RatesAsync(known, stop);
        var lines = new List<FoundLine>();
        foreach (var one in text.Length > 0 ? found : await FirstAsync(store, known, households, stop))
        {
            if (await store.Reader.HistoryAsync(one.Contract, known, stop) is not { } history) { continue; }
            if (AccountFold.At(history, rates, Max(day, history.Signing.On)) is not { } state) { continue; }
            lines.Add(new FoundLine(one, state.Kind, state.StatusWord, state.Equity, state.PastDue));
        }

        return PageHost.Of<FindPage>(context, new FindModel(text, lines, text.Length == 0, await store.Reader.CountAsync(stop)));
    }

    private static async Task<IReadOnlyList<Found>> FirstAsync(ContractsStore store, Instant known, bool households, CancellationToken stop)
    {
        var (histories, _) = await store.Reader.NextAsync(known, "", Most, stop);
        return [.. histories.Where(history => history.IsSigned)
            .Select(history => new Found(history.Contract, "household", households ? history.Signing.Household : "not shown"))];
    }

    private static LocalDate Max(LocalDate left, LocalDate right) => left > right ? left : right;
}
