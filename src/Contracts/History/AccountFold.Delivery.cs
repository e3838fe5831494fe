using Contracts.Payments;
using Contracts.Terms;
using NodaTime;

namespace Contracts.History;

/// <summary>
/// Tax on all rents of a term, collected when it begins (M80), and what of it is kept when the instrument comes back
/// before they are charged (M81).
/// </summary>
public sealed partial class AccountFold
{
    /// <summary>The delivery tax that covers the rents now falling due, or null while each rent answers for itself.</summary>
    private Charge? delivery;

    /// <summary>The rent charged since that tax was.</summary>
    private Money rentCovered;

    /// <summary>The first term begins with its first installment; later ones with the exchange or reinstatement that brings them.</summary>
    private bool FirstRentAhead => delivery is null && terms.Count == 1 && schedule.NextSlot == 0;

    /// <summary>The delivery tax that will fall due with the next installment, or null where none will.</summary>
    internal Money? DeliveryTaxAhead =>
        FirstRentAhead && schedule.HasNext && !AwaitsDelivery ? rates.On(jurisdiction, schedule.NextDue).AtDelivery(schedule.RentLeft) : null;

    /// <summary>How rents, the plan and a purchase of a day are taxed on this contract.</summary>
    internal TaxEntry TaxOn(LocalDate day)
    {
        var entry = rates.On(jurisdiction, day);
        return delivery is null ? entry : entry.AfterDelivery();
    }

    /// <summary>Under an entry that asks for it, all rents still to be charged are taxed now; a tax of 0.00 covers them as well.</summary>
    private void ChargeDeliveryTax(LocalDate day, long sequence)
    {
        if (delivery is not null || rates.On(jurisdiction, day).AtDelivery(schedule.RentLeft) is not { } tax) { return; }
        delivery = new Charge(null, ChargeKind.DeliveryTax, day, sequence, terms.Count - 1)
            {
                Jurisdiction = jurisdiction, Base = OnRents(rates.On(jurisdiction, day), schedule.RentLeft),
            }
            .Of((ChargePart.Tax, tax));
        rentCovered = Money.Zero;
        Add(delivery);
    }

    /// <summary>The rents still ahead will never be charged: only the tax on those that were is kept, at the rate it was taken.</summary>
    private void KeepDeliveryTax(LocalDate day, long sequence)
    {
        if (delivery is not { } taken) { return; }
        Reverse(taken, day);
        delivery = null;
        var entry = rates.On(taken.Jurisdiction, taken.TaxedOn);
        var kept = KeptOf(taken);
        if (!kept.IsPositive) { return; }
        Add(new Charge(null, ChargeKind.DeliveryTax, day, sequence, taken.TermsIndex)
            {
                Jurisdiction = taken.Jurisdiction, TaxedOn = taken.TaxedOn, Base = OnRents(entry, rentCovered),
            }
            .Of((ChargePart.Tax, kept)));
    }

    private static TaxBase OnRents(TaxEntry entry, Money rents) =>
        new(entry.Rate.Units > 0 ? rents : Money.Zero, Money.Zero, Money.Zero, IsCovered: false);

    private Money KeptOf(Charge taken) => rates.On(taken.Jurisdiction, taken.TaxedOn).Rate.Of(rentCovered);

    /// <summary>What of the delivery tax would be taken back if the instrument came back now.</summary>
    internal Money DeliveryTaxIfReturned => delivery is { } taken ? taken.Of(ChargePart.Tax) - KeptOf(taken) : Money.Zero;
}
