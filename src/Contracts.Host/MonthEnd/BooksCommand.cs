using System.CommandLine;
using Contracts.Books;
using Contracts.Host.Terminal;
using Contracts.Store;
using Contracts.Store.Books;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Host.MonthEnd;

/// <summary>`contracts books`: the trial balance through a day, as known at a moment.</summary>
public static class BooksCommand
{
    public static Command Build()
    {
        var through = CommonOptions.On("--through");
        through.Description = "The last day that counts, such as 2026-12-31; today when left out.";
        var known = CommonOptions.Known();
        var effective = new Option<bool>("--by-effective-day")
        {
            Description = "Go by the day each fact was about; without it a fact of a closed month counts where it was booked.",
        };
        var shop = new Option<string?>("--shop") { Description = "The books of one shop; of all when left out." };
        var command = new Command("books", "The trial balance of the programme through a day, as known at a moment.")
        {
            through, known, effective, shop, ChartOption.File,
        };
        command.SetAction((parse, stop) => ChartOption.RunAsync(
            parse,
            async (session, chart) =>
            {
                var (day, moment) = await session.ViewAsync(parse.GetValue(through), parse.GetValue(known), stop).ConfigureAwait(false);
                var by = parse.GetValue(effective) ? BookDay.Effective : BookDay.Booked;
                var balance = await BalanceAsync(session.Store, chart, day, moment, by, parse.GetValue(shop), stop).ConfigureAwait(false);
                await WarnAsync(session, day, moment, stop).ConfigureAwait(false);
                BooksPrinter.Print(balance, day, moment, session.Format);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    public static async Task<TrialBalance> BalanceAsync(
        ContractsStore store, Chart chart, LocalDate through, Instant known, BookDay by, string? shop, CancellationToken stop)
    {
        var totals = await store.Books.TotalsAsync(LocalDate.MinIsoValue, through, known, by, stop: stop).ConfigureAwait(false);
        return TrialBalance.Of(chart, totals.Where(total => shop is null || total.Shop == shop).Select(total => (total.Account, total.Authority, total.Amount)));
    }

    /// <summary>
    /// What falls due is booked by the contract's next event, at the latest by the billing run. A closed month was found
    /// complete; of later days only a billing run makes sure.
    /// </summary>
    private static async Task WarnAsync(Session session, LocalDate through, Instant known, CancellationToken stop)
    {
        var closed = await session.Store.MonthClose.ClosedAsync(stop).ConfigureAwait(false);
        if (closed.Any(month => month.ClosedAt <= known && through < month.Month.PlusMonths(1).OnDayOfMonth(1))) { return; }
        var day = LocalDatePattern.Iso.Format(through);
        await Console.Error.WriteLineAsync(
            $"What fell due by {day} is in these books once it was billed: `contracts bill --through {day}` makes sure.").ConfigureAwait(false);
    }
}
