using Contracts.Host.Reconstruct;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;

namespace Contracts.Host.Serving.Pages;

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
        if (text.Length == 0) { return Page(context, text, await FirstAsync(store, households, stop), await store.Reader.CountAsync(stop)); }
        var lines = await FindCommand.LookAsync(store, text, households, (context.User.Name(), context.User.Purpose() ?? ReadRecorder.PurposeOf(context.Request)), stop);
        if (lines.Count == 0 && await IsUnitAsync(store, text.Trim(), stop)) { return Results.Redirect(FleetPages.PlaceOf(text.Trim())); }
        return lines is [var only]
            ? Results.Redirect($"/account/{Uri.EscapeDataString(only.Found.Contract)}")
            : Page(context, text, lines, await store.Reader.CountAsync(stop));
    }

    private static Microsoft.AspNetCore.Http.HttpResults.RazorComponentResult Page(HttpContext context, string text, IReadOnlyList<FoundLine> lines, long contracts) =>
        PageHost.Of<FindPage>(context, new FindModel(text, lines, text.Length == 0, contracts));

    /// <summary>A unit that no contract has had yet.</summary>
    private static async Task<bool> IsUnitAsync(ContractsStore store, string serial, CancellationToken stop)
    {
        if (serial.Length == 0) { return false; }
        var known = await store.Reader.NowAsync(stop);
        return await store.Units.FindAsync(serial, known.InZone(Terminal.Session.Zone).Date, known, stop) is not null;
    }

    private static async Task<IReadOnlyList<FoundLine>> FirstAsync(ContractsStore store, bool households, CancellationToken stop)
    {
        var (histories, _) = await store.Reader.NextAsync(await store.Reader.NowAsync(stop), "", Most, stop);
        return await FindCommand.StandAsync(
            store,
            [.. histories.Where(history => history.IsSigned)
                .Select(history => new Found(history.Contract, "household", households ? history.Signing.Household : "not shown"))], stop);
    }
}
