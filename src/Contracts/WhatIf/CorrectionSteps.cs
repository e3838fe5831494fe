using Contracts.Agreements;
using Contracts.History;
using Contracts.Payments;
using Contracts.Terms;
using NodaTime;

namespace Contracts.WhatIf;

/// <summary>A command that may be part of a correction, and the day it is dated on.</summary>
internal sealed record CorrectionStep(ContractCommand Body, LocalDate On);

/// <summary>
/// The closed set of commands that may correct a change. First what takes the recorded fact back, then what says it as it would be; each
/// dated on the day it is about, and where the rules may refuse that (M13, M14), on the first day they leave open.
/// </summary>
/// <remarks>
/// A payment is never made up to its right amount by a second one: what came in once is one payment with one receipt, and a bank takes
/// it back as one.
/// </remarks>
internal sealed class CorrectionSteps(ContractHistory real, ReferenceData rates, LocalDate today)
{
    /// <summary>Where money goes that no till took: it balances an entry that never happened.</summary>
    private const string Method = "correction";

    /// <summary>The steps for a change, in the order in which they would be taken.</summary>
    public IReadOnlyList<CorrectionStep> Of(SupposedHistory supposed)
    {
        var steps = new List<CorrectionStep>();
        if (supposed.Original is { } original && supposed.Supposed is { } same && Difference(original.Event, same.Event) is { } difference) { return [difference]; }
        // Terms and law are no fact that a command takes back; an exchange takes another instrument.
        if (supposed.Original is { Event: not ContractEvent.Signed } gone) { steps.AddRange(Undo(gone)); }
        if (supposed.Command is { Body: not ContractCommand.Sign } command) { steps.AddRange(Dated(command.Body, command.On)); }
        return steps;
    }

    /// <summary>
    /// Goodwill and refunds have no receipt of their own: the rest of one is given by another. A delivery is put right by one that is dated where the wrong
    /// one is, or earlier (M83).
    /// </summary>
    private static CorrectionStep? Difference(ContractEvent was, ContractEvent then) => (was, then) switch
    {
        (ContractEvent.CreditGiven a, ContractEvent.CreditGiven b) when a.On == b.On && b.Amount > a.Amount => new(new ContractCommand.Credit(b.Amount - a.Amount), a.On),
        (ContractEvent.RefundIssued a, ContractEvent.RefundIssued b) when a.On == b.On && b.Amount > a.Amount => new(new ContractCommand.Refund(b.Amount - a.Amount), a.On),
        (ContractEvent.RefundIssued a, ContractEvent.RefundIssued b) when a.On == b.On => new(new ContractCommand.Pay(a.Amount - b.Amount, Method, null), a.On),
        (ContractEvent.InstrumentDelivered a, ContractEvent.InstrumentDelivered b) => Came(b) is var day && day < a.On
            ? new(new ContractCommand.Deliver(), day)
            : new(new ContractCommand.Deliver(day == a.On ? null : day), a.On),
        _ => null,
    };

    private static LocalDate Came(ContractEvent.InstrumentDelivered delivered) => delivered.DeliveredOn ?? delivered.On;

    private IEnumerable<CorrectionStep> Undo(Recorded gone)
    {
        var on = gone.Event.On;
        return gone.Event switch
        {
            ContractEvent.PaymentReceived or ContractEvent.BoughtEarly => [new(new ContractCommand.ReversePayment(gone.Key, AccountFold.EntryError), on)],
            ContractEvent.PaymentReversed e => PaidAgain(e.Payment),
            ContractEvent.RefundIssued e => [new(new ContractCommand.Pay(e.Amount, Method, null), on)],
            ContractEvent.PlanElected => [new(new ContractCommand.CancelPlan(), on)],
            ContractEvent.PlanCancelled => Dated(new ContractCommand.ElectPlan(), on),
            ContractEvent.Moved => HomeBefore(gone) is var (state, area) ? Dated(new ContractCommand.Move(state, area), on) : [],
            ContractEvent.Held => [new(new ContractCommand.Release(), on)],
            ContractEvent.Released => [new(new ContractCommand.Hold(), on)],
            ContractEvent.Returned => [new(new ContractCommand.Reinstate(null), on)],
            ContractEvent.Reinstated => [new(new ContractCommand.Return(null), on)],
            ContractEvent.InstrumentSwapped e =>
            [
                new(new ContractCommand.ReceiveUnit(e.Outgoing), on), new(new ContractCommand.Swap(e.Outgoing, on), on), new(new ContractCommand.ReceiveUnit(e.Serial), on),
            ],
            ContractEvent.WrittenOff e => [new(new ContractCommand.Recover(e.Amount), on)],
            ContractEvent.Recovered e => [new(new ContractCommand.WriteOff(e.Amount), on)],
            // A goodwill credit, a waiver, a loss, an exchange, a step-up and credit that was spent stay: no command takes them back.
            _ => [],
        };
    }

    /// <summary>A reversal that should not have been: the payment is entered again on its own day.</summary>
    private IEnumerable<CorrectionStep> PaidAgain(string payment) => real.Facts.FirstOrDefault(fact => fact.Key == payment) switch
    {
        { Event: ContractEvent.PaymentReceived e } => [new(new ContractCommand.Pay(e.Amount, e.Method, e.Reference), e.On)],
        { Event: ContractEvent.BoughtEarly e } => [new(new ContractCommand.Buy(e.Amount, e.Method, e.Reference), e.On)],
        _ => [],
    };

    /// <summary>On its own day, and on the last day on which something fell due, before which a choice of plan or home cannot be dated any more.</summary>
    private IEnumerable<CorrectionStep> Dated(ContractCommand body, LocalDate on)
    {
        yield return new CorrectionStep(body, on);
        if (body is ContractCommand.ElectPlan or ContractCommand.Move && LastDue() is { } due && due > on) { yield return new CorrectionStep(body, due); }
        else if (body is ContractCommand.Return or ContractCommand.Hold or ContractCommand.Release or ContractCommand.Reinstate && LastOrdered() is { } day && day > on)
        {
            yield return new CorrectionStep(body, day);
        }
    }

    private LocalDate? LastDue()
    {
        var due = AccountFold.At(real, rates, today)?.Charges.Where(charge => charge.Kind == ChargeKind.Installment).Select(charge => charge.DueOn).ToList();
        return due is { Count: > 0 } ? due.Max() : null;
    }

    private LocalDate? LastOrdered() => real.Facts.LastOrDefault(fact => ContractDecider.Orders(fact.Event))?.Event.On;

    private (string State, string Jurisdiction)? HomeBefore(Recorded move)
    {
        var home = (real.Signing.State, real.Signing.Jurisdiction);
        foreach (var fact in real.Facts)
        {
            if (fact.Sequence == move.Sequence) { return home; }
            if (fact.Event is ContractEvent.Moved moved) { home = (moved.State, moved.Jurisdiction); }
        }

        return null;
    }
}
