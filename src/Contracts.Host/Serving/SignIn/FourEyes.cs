using System.Text;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.History;
using Contracts.Proposals;
using Contracts.Store;
using Contracts.Store.Proposals;
using Contracts.Host.Terminal;
using NodaTime;

namespace Contracts.Host.Serving.SignIn;

/// <summary>
/// What one person alone may not do through the host: an entry taken back, a write-off, the close of a month, a refund above a limit, and goodwill and
/// waived fees that come to more than a role's limit on one contract. One proposes it, another approves it, and the history names both.
/// </summary>
internal static class FourEyes
{
    /// <summary>
    /// The command as it may be carried out, or why it takes a second person. A close that was approved goes through, with the
    /// name of who approved it.
    /// </summary>
    public static async Task<(Command Command, Refusal? Refusal)> LookAsync(
        Command command, string role, GivingLimits limits, ContractsStore store, CancellationToken stop)
    {
        if (command is Command.Close close)
        {
            var approved = await store.Proposals.ApprovedCloseAsync(close.Month, await store.Reader.NowAsync(stop), stop);
            return approved is null
                ? (command, Needed("The close of a month"))
                : (close with { Origin = close.Origin with { Approved = approved.Proposal.By } }, null);
        }

        return (command, command is not Command.OnContract on ? null : on.Body switch
        {
            ContractCommand.ReversePayment { Code: "entry-error" } => Needed("Taking back an entry"),
            ContractCommand.WriteOff => Needed("A write-off"),
            ContractCommand.Refund c => c.Amount <= limits.Manager ? null : new Refusal(
                RefusalCode.SecondPersonNeeded, $"Above {limits.Manager} a refund takes a second person: propose it, and somebody else approves it.", "amount",
                limits.Manager.ToString()),
            ContractCommand.Credit or ContractCommand.Waive => await GivenAsync(on, limits.For(role), store, stop),
            _ => null,
        });
    }

    /// <summary>The roles that may approve a proposal: those that may send what it proposes, as far as they approve at all, and managers.</summary>
    public static IReadOnlyList<string> MayApprove(RecordedProposal proposal)
    {
        var (read, _) = CommandReader.Read(Encoding.UTF8.GetBytes(proposal.Change), Proposal.KeyOf(proposal.Proposal.Id));
        return [.. CommandDoors.For("approve").Where(role => role == Roles.Manager || CommandDoors.For(read?.Name ?? "").Contains(role))];
    }

    private static Refusal Needed(string what) =>
        new(RefusalCode.SecondPersonNeeded, $"{what} takes a second person: propose it, and somebody else approves it.", "do");

    /// <summary>
    /// Why what is given away takes a second person, or null. In parts it is as much as at once, so what was given before without a second person counts,
    /// whoever gave it. A fee that is not there is for the rules to refuse.
    /// </summary>
    private static async Task<Refusal?> GivenAsync(Command.OnContract command, Money limit, ContractsStore store, CancellationToken stop)
    {
        var now = await store.Reader.NowAsync(stop);
        // A command that is sent again is answered with what it did.
        if (await store.Reader.HistoryAsync(command.Contract, now, stop) is not { IsSigned: true } history
            || history.Facts.Any(fact => fact.Key == command.Origin.Key))
        {
            return null;
        }

        var day = LocalDate.Max(command.On, now.InZone(Session.Zone).Date);
        if (AccountFold.At(history, await store.Reader.RatesAsync(now, stop), day) is not { } state) { return null; }
        var before = history.Facts
            .Where(fact => fact.Approved is null && fact.At > now - Duration.FromDays(GivingLimits.Days))
            .Aggregate(Money.Zero, (sum, fact) => sum + fact.Event switch
            {
                ContractEvent.CreditGiven e => e.Amount,
                ContractEvent.FeeWaived e => FeeOf(state, e.Fee),
                _ => Money.Zero,
            });
        var more = command.Body switch { ContractCommand.Credit c => c.Amount, ContractCommand.Waive c => FeeOf(state, c.Fee), _ => Money.Zero };
        if (!more.IsPositive || before + more <= limit) { return null; }
        var left = before < limit ? limit - before : Money.Zero;
        var said = before.IsPositive ? $" {before} was given already." : "";
        return new Refusal(
            RefusalCode.SecondPersonNeeded,
            $"Above {limit} on one contract in {GivingLimits.Days} days, goodwill and waivers take a second person: propose it, and somebody else approves it.{said}", "amount",
            left.ToString());
    }

    /// <summary>What a fee came to, waived or not.</summary>
    private static Money FeeOf(AccountState state, string fee) =>
        state.Charges.Where(charge => charge.Id == fee).SelectMany(charge => charge.Items).Aggregate(Money.Zero, (sum, item) => sum + item.Charged);
}
