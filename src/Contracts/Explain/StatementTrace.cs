using Contracts.Agreements;
using Contracts.History;
using Contracts.Instruments;
using Contracts.Payments;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Explain;

/// <summary>
/// Writes down what moves the balance while a fold lives. Each amount is that of the charge or the fact itself; which money pays which charge moves
/// nothing between the family and the shop.
/// </summary>
internal sealed class StatementTrace : IAccountWatcher
{
    private readonly Dictionary<string, Money> received = new(StringComparer.Ordinal);
    private readonly List<Movement> movements = [];
    private LocalDate today;

    /// <summary>The movements in the order of the fold; their balances are still to be made.</summary>
    public IReadOnlyList<Movement> Movements => movements;

    public void BeginDay(LocalDate day) => today = day;

    public void Charged(Charge charge, LocalDate? covers)
    {
        // It is part of the refund, or of the reversal, that made it.
        if (charge.Kind != ChargeKind.RefundToRecover) { Move(MovementKind.Charge, $"{Named(charge)}: {Parts(charge)}", charge.Id, EventOf(charge), Whole(charge)); }
    }

    public void ChargeReversed(Charge charge) =>
        Move(MovementKind.TakenBack, $"{Named(charge)} taken back", charge.Id, null, Money.Zero - Whole(charge));

    public void Happened(Recorded fact, bool took, AccountFold fold)
    {
        switch (fact.Event)
        {
            case ContractEvent.PaymentReceived e: Receive(fact, e.Amount); break;
            case ContractEvent.BoughtEarly e: Receive(fact, e.Amount); break;
            case ContractEvent.CreditGiven e: Move(MovementKind.Goodwill, fact, Money.Zero - e.Amount); break;
            case ContractEvent.RefundIssued e: Move(MovementKind.Refund, fact, e.Amount); break;
            case ContractEvent.PaymentReversed e when received.Remove(e.Payment, out var amount): Move(MovementKind.Reversal, fact, amount); break;
            default: break; // It moves no money by itself; what it makes fall due is a charge.
        }
    }

    public void Names(Instrument named) { }

    public void SpareUnitFound(Charge fee) { }

    public void NotCarried(Money amount) { }

    public void EndDay(AccountFold fold) { }

    public void Settled(ChargeItem item, Money amount, bool goodwill) { }

    private void Receive(Recorded fact, Money amount)
    {
        received[fact.Key] = amount;
        Move(MovementKind.Payment, fact, Money.Zero - amount);
    }

    private void Move(MovementKind kind, Recorded fact, Money amount) => Move(kind, FactWords.Of(fact.Event), fact.Key, fact.Sequence, amount);

    private void Move(MovementKind kind, string says, string id, long? sequence, Money amount)
    {
        if (amount != Money.Zero) { movements.Add(new Movement(today, kind, says, id, sequence, amount, Money.Zero)); }
    }

    private static long? EventOf(Charge charge) => charge.Sequence > 0 ? charge.Sequence : null;

    private static Money Whole(Charge charge) => charge.Items.Aggregate(Money.Zero, (sum, item) => sum + item.Charged);

    private static string Named(Charge charge) => $"{charge.Kind.Word()} due {LocalDatePattern.Iso.Format(charge.DueOn)}";

    private static string Parts(Charge charge) => string.Join(", ", charge.Items.Select(item => $"{item.Part.Word()} {item.Charged}"));
}
