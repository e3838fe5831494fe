using System.CommandLine;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Host.Terminal;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Reconstruct;

/// <summary>`contracts account`: one account as of a day, as known at a moment.</summary>
public static class AccountCommand
{
    public static Command Build()
    {
        var contract = new Argument<string>("contract") { Description = "The contract's id, such as C-1042." };
        var on = CommonOptions.On();
        var known = CommonOptions.KnownOrCheckpoint();
        var command = new Command("account", "One account: what is paid, owed, owned, and what it costs to own today.")
        {
            contract, on, known,
        };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                if (await session.ViewOrCheckpointAsync(parse.GetValue(on), parse.GetValue(known), stop).ConfigureAwait(false) is not { } view) { return ExitCodes.Refused; }
                var id = parse.GetRequiredValue(contract);
                var history = await session.Store.Reader.HistoryAsync(id, view.Known, stop).ConfigureAwait(false);
                var rates = await session.Store.Reader.RatesAsync(view.Known, stop).ConfigureAwait(false);
                if (history is null || AccountFold.At(history, rates, view.On) is not { } state)
                {
                    return session.Refuse(new Refusal(
                        RefusalCode.ContractUnknown, $"No contract {id} was signed by that day, as known at that moment.", "contract"));
                }

                AccountPrinter.Print(Account.Of(state, view.Known.At), session.Format);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }
}
