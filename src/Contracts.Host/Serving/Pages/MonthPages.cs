using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Books.Packet;
using Contracts.Host.MonthEnd;
using Contracts.Store;
using Contracts.Store.Books;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Host.Serving.Pages;

/// <summary>The closed months and the next one.</summary>
public sealed record MonthsModel(IReadOnlyList<ClosedMonth> Closed, string Next, Refusal? Obstacle);

/// <summary>A closed month's packet, made again, and whether it is the one of the close.</summary>
public sealed record MonthModel(Packet Packet, bool IsSame, string Digest, ClosedMonth Closed);

/// <summary>Finance's pages: which months are closed, and the packet of each.</summary>
internal static class MonthPages
{
    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapPage("/months", MonthsAsync);
        routes.MapPage("/months/{month}", MonthAsync);
    }

    private static async Task<IResult> MonthsAsync(HttpContext context, ContractsStore store, CancellationToken stop)
    {
        var closed = await store.MonthClose.ClosedAsync(stop);
        var today = (await store.Reader.NowAsync(stop)).InZone(Terminal.Session.Zone).Date;
        var next = closed.Count > 0 ? closed[^1].Month.PlusMonths(1) : today.ToYearMonth().PlusMonths(-1);
        return PageHost.Of<MonthsPage>(context, new MonthsModel(
            closed.Reverse().ToImmutableArray(), YearMonthPattern.Iso.Format(next), await store.MonthClose.ObstacleAsync(next, today, stop)));
    }

    private static async Task<IResult> MonthAsync(HttpContext context, ContractsStore store, string month, CancellationToken stop)
    {
        if (YearMonthPattern.Iso.Parse(month) is not { Success: true, Value: { Year: >= 1900 and <= 2200 } wanted } || month.Length != 7)
        {
            return PageHost.Refused(context, new Refusal(RefusalCode.DateInvalid, "A month is written like 2026-09.", "month"));
        }

        var closed = (await store.MonthClose.ClosedAsync(stop)).FirstOrDefault(one => one.Month == wanted);
        var (packet, isSame) = await store.MonthClose.MakeAgainAsync(wanted, stop);
        return closed is null || packet is null
            ? PageHost.Refused(context, new Refusal(RefusalCode.MonthNotClosed, $"{month} has not been closed.", "month"))
            : PageHost.Of<MonthPage>(context, new MonthModel(packet, isSame, closed.Event.Digest, closed));
    }
}
