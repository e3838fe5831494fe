using System.Text;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Proposals;
using Contracts.Store;
using Contracts.Store.Proposals;
using Contracts.Host.Terminal;

namespace Contracts.Host.Serving.SignIn;

/// <summary>
/// What one person alone may not do through the host: an entry taken back, a write-off, the close of a month, and a waiver, a goodwill
/// credit or a refund above a limit. One proposes it, another approves it, and the history names both.
/// </summary>
internal static class FourEyes
{
    /// <summary>Up to here one manager waives, credits or refunds alone, where the shop sets no other limit.</summary>
    public static readonly Money UsualLimit = new(5000);

    /// <summary>
    /// The command as it may be carried out, or why it takes a second person. A close that was approved goes through, with the
    /// name of who approved it.
    /// </summary>
    public static async Task<(Command Command, Refusal? Refusal)> LookAsync(Command command, Money limit, ContractsStore store, CancellationToken stop)
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
            ContractCommand.Credit c => Above(c.Amount, limit, "goodwill"),
            ContractCommand.Refund c => Above(c.Amount, limit, "a refund"),
            ContractCommand.Waive c => Above(await FeeAsync(on, c.Fee, store, stop), limit, "a waiver"),
            _ => null,
        });
    }

    /// <summary>The roles that may approve a proposal: those that may send what it proposes, as far as they approve at all, and managers.</summary>
    public static IReadOnlyList<string> MayApprove(RecordedProposal proposal)
    {
        var (read, _) = CommandReader.Read(Encoding.UTF8.GetBytes(proposal.Change), Proposal.KeyOf(proposal.Proposal.Id));
        return [.. CommandDoors.For("approve").Where(role => role == Roles.Manager || CommandDoors.For(read?.Name ?? "").Contains(role))];
    }

    private static Refusal? Above(Money amount, Money limit, string what) => amount <= limit
        ? null
        : new Refusal(
            RefusalCode.SecondPersonNeeded, $"Above {limit} {what} takes a second person: propose it, and somebody else approves it.", "amount", limit.ToString());

    private static Refusal Needed(string what) =>
        new(RefusalCode.SecondPersonNeeded, $"{what} takes a second person: propose it, and somebody else approves it.", "do");

    /// <summary>What a fee came to; nothing where there is none, which is for the rules to refuse.</summary>
    private static async Task<Money> FeeAsync(Command.OnContract command, string fee, ContractsStore store, CancellationToken stop)
    {
        var now = await store.Reader.NowAsync(stop);
        if (await store.Reader.HistoryAsync(command.Contract, now, stop) is not { IsSigned: true } history) { return Money.Zero; }
        var day = NodaTime.LocalDate.Max(command.On, now.InZone(Session.Zone).Date);
        return AccountFold.At(history, await store.Reader.RatesAsync(now, stop), day) is { } state
            ? Account.Of(state, now).OpenItems.Where(item => item.Id == fee).Aggregate(Money.Zero, (sum, item) => sum + item.Charged)
            : Money.Zero;
    }
}
