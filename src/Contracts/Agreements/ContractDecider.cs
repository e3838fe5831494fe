using System.Diagnostics;
using Contracts.History;
using NodaTime;

namespace Contracts.Agreements;

/// <summary>
/// Decides commands on one contract. Pure: the same history, rates and recording date always give the same answer.
/// A command is decided on the state at the end of its own day as known now, also when that day is past.
/// </summary>
public static partial class ContractDecider
{
    /// <summary>How many days after the recording date a command may be dated.</summary>
    public const int FurthestAheadDays = 31;

    public static Decision Decide(
        ContractHistory history, DecisionContext context, CommandOrigin origin, LocalDate on, ContractCommand command)
    {
        if (on > context.RecordingDate.PlusDays(FurthestAheadDays)) { return Refuse(TooFarAhead(on, context)); }
        if (NeedsReason(command) && string.IsNullOrWhiteSpace(origin.Reason))
        {
            return Refuse(new Refusal(RefusalCode.ReasonMissing, "This command must say why.", "reason"));
        }

        if (command is ContractCommand.Sign sign) { return Sign(history, context, on, sign); }
        if (!history.IsSigned)
        {
            return Refuse(new Refusal(RefusalCode.ContractUnknown, $"No contract {history.Contract} was signed.", "contract"));
        }

        if (on < history.Signing.On)
        {
            return Refuse(new Refusal(
                RefusalCode.OnBeforeSigning, "Nothing can be dated before the signing.", "on", Iso(history.Signing.On)));
        }

        // A paper changes nothing, so nothing follows from it.
        if (command is ContractCommand.Issue issue) { return Issue(history, context, on, issue); }
        if (LaterEvent(history, on, command) is { } later) { return Refuse(later); }
        var decision = DecideOnState(new Situation(history, context, origin, on), command);
        return decision is Decision.Accepted accepted ? WithConsequences(history, context, origin, accepted) : decision;
    }

    /// <summary>What the billing run records of one contract through a day; empty when nothing is new.</summary>
    public static IReadOnlyList<Outcome> Bill(ContractHistory history, DecisionContext context, LocalDate through) =>
        AccountFold.At(history, context.Rates, through) is { } state ? Notes.Missing(history, state) : [];

    /// <summary>Whether a billing run through the account's day would find nothing new.</summary>
    public static bool IsBilled(ContractHistory history, AccountState state) => Notes.Missing(history, state).Count == 0;

    private static Decision DecideOnState(Situation now, ContractCommand command) => command switch
    {
        ContractCommand.Pay c => Pay(now, c),
        ContractCommand.ReversePayment c => ReversePayment(now, c),
        ContractCommand.Refund c => Refund(now, c),
        ContractCommand.Credit c => Credit(now, c),
        ContractCommand.ElectPlan => ElectPlan(now),
        ContractCommand.CancelPlan => Accept(new ContractEvent.PlanCancelled { On = now.On }),
        ContractCommand.Deliver c => Deliver(now, c),
        ContractCommand.Swap c => Swap(now, c),
        ContractCommand.ReceiveUnit c => ReceiveUnit(now, c),
        ContractCommand.ReportDamage c => ReportDamage(now, c),
        ContractCommand.IssueLabel c => IssueLabel(now, c),
        ContractCommand.OpenDispute c => OpenDispute(now, c),
        ContractCommand.AttachPaper c => AttachPaper(now, c),
        ContractCommand.AnswerDispute c => AnswerDispute(now, c),
        ContractCommand.CloseDispute c => CloseDispute(now, c),
        ContractCommand.Exchange c => Exchange(now, c),
        ContractCommand.Return c => Return(now, c),
        ContractCommand.Buy c => Buy(now, c),
        ContractCommand.Waive c => Waive(now, c),
        ContractCommand.Move c => Move(now, c),
        ContractCommand.ReportLoss c => ReportLoss(now, c),
        ContractCommand.Hold c => Hold(now, c),
        ContractCommand.Release => Release(now),
        ContractCommand.Reinstate c => Reinstate(now, c),
        ContractCommand.StepUp c => StepUp(now, c),
        ContractCommand.SpendCredit c => SpendCredit(now, c),
        ContractCommand.WriteOff c => WriteOff(now, c),
        ContractCommand.Recover c => Recover(now, c),
        _ => throw new UnreachableException($"No rule for {command.GetType().Name}."),
    };

    private static Decision Issue(ContractHistory history, DecisionContext context, LocalDate on, ContractCommand.Issue issue)
    {
        if (context.Issue is not { } desk) { return Refuse(RefusalCode.PaperNotMade, "This store was opened without anything to make papers with."); }
        var (issued, refusal) = desk(history, on, issue);
        return refusal is not null ? Refuse(refusal) : Accept(issued!);
    }

    private static bool NeedsReason(ContractCommand command) =>
        command is ContractCommand.ReversePayment or ContractCommand.Waive or ContractCommand.Credit or ContractCommand.Hold;

    /// <summary>What ends, moves or re-homes a contract is undone by new events in order, never slipped in before.</summary>
    private static Refusal? LaterEvent(ContractHistory history, LocalDate on, ContractCommand command)
    {
        if (command is not (ContractCommand.Exchange or ContractCommand.Return or ContractCommand.Buy
            or ContractCommand.ReportLoss or ContractCommand.Hold or ContractCommand.Release
            or ContractCommand.Reinstate or ContractCommand.Swap or ContractCommand.StepUp))
        {
            return null;
        }

        for (var index = history.Facts.Length - 1; index >= 0 && history.Facts[index].Event.On > on; index--)
        {
            if (!Orders(history.Facts[index].Event)) { continue; }
            var later = history.Facts[index].Event.On;
            return Ordered(later);
        }

        return null;
    }

    private static Refusal Ordered(LocalDate later) => new(
        RefusalCode.LaterEvent, $"An event that orders the contract's life is already recorded on {Iso(later)}; undo it by new events first.", "on", Iso(later));

    internal static bool Orders(ContractEvent fact) =>
        fact is ContractEvent.InstrumentExchanged or ContractEvent.Returned or ContractEvent.BoughtEarly
            or ContractEvent.LossReported or ContractEvent.Held or ContractEvent.Released
            or ContractEvent.Reinstated or ContractEvent.InstrumentSwapped or ContractEvent.SteppedUp or ContractEvent.InstrumentDelivered;

    internal static Refusal TooFarAhead(LocalDate on, DecisionContext context) => new(
        RefusalCode.OnTooFarAhead,
        $"{Iso(on)} is more than {FurthestAheadDays} days after the recording date {Iso(context.RecordingDate)}.",
        "on", Iso(context.RecordingDate.PlusDays(FurthestAheadDays)));

    private static Decision.Accepted Accept(ContractEvent fact) => new([new Outcome(fact)]);

    private static Decision.Refused Refuse(Refusal refusal) => new(refusal);

    private static Decision.Refused Refuse(RefusalCode code, string detail, string? field = null, string? right = null) =>
        new(new Refusal(code, detail, field, right));

    private static string Iso(LocalDate date) => NodaTime.Text.LocalDatePattern.Iso.Format(date);
}
