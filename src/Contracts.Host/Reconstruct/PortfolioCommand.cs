using System.CommandLine;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Host.Terminal;
using Contracts.Store;
using NodaTime;

namespace Contracts.Host.Reconstruct;

/// <summary>`contracts portfolio`: the totals over all accounts of a view.</summary>
public static class PortfolioCommand
{
    public static Command Build()
    {
        var on = CommonOptions.On();
        var known = CommonOptions.KnownOrCheckpoint();
        var command = new Command("portfolio", "The totals over all accounts as of a day, as known at a moment.") { on, known };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                if (await session.ViewOrCheckpointAsync(parse.GetValue(on), parse.GetValue(known), stop).ConfigureAwait(false) is not { } view) { return ExitCodes.Refused; }
                AccountPrinter.Print(await SumAsync(session.Store, view.On, view.Known, stop).ConfigureAwait(false), session.Format);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    public static async Task<Portfolio> SumAsync(ContractsStore store, LocalDate on, KnownAt known, CancellationToken stop)
    {
        var rates = await store.Reader.RatesAsync(known, stop).ConfigureAwait(false);
        var portfolio = new Portfolio(on, known.At);
        var accounts = store.Reader.MapHistoriesAsync(
            known,
            history => AccountFold.At(history, rates, on) is { } state ? Account.Of(state, known.At) : null,
            stop);
        await foreach (var account in accounts.ConfigureAwait(false))
        {
            if (account is not null) { portfolio.Add(account); }
        }

        return portfolio;
    }
}
