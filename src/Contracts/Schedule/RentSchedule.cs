using Contracts.Terms;
using NodaTime;

namespace Contracts.Schedule;

/// <summary>
/// The installments still to fall due: their slots in months from the anchor, and how much rent is left to charge.
/// Immutable; the fold takes one installment after another. Always made anew and never by <c>with</c>, which would
/// keep the due date that was counted for the old slot.
/// </summary>
/// <param name="Anchor">The start date; every due date is counted from it, clamped to the month's last day.</param>
/// <param name="Introductory">The introductory period while its installment is still to come, else null.</param>
/// <param name="NextSlot">Months from the anchor to the next installment, without any shift.</param>
/// <param name="Shift">Months by which holds have moved what remains.</param>
/// <param name="RentLeft">Rent still to be charged, the introductory payment included.</param>
/// <param name="MonthlyRent">The rent of one installment; the last is what is left.</param>
public readonly record struct RentSchedule(
    LocalDate Anchor, IntroductoryPeriod? Introductory, int NextSlot, int Shift, Money RentLeft, Money MonthlyRent)
{
    public static RentSchedule FromSigning(LocalDate anchor, ContractTerms terms) =>
        new(anchor, terms.Introductory.Months > 0 ? terms.Introductory : null, 0, 0, terms.TotalRent, terms.MonthlyRent);

    public bool HasNext => Introductory is not null || RentLeft.IsPositive;

    /// <summary>The next due date; only meaningful while there is a next installment.</summary>
    public LocalDate NextDue { get; } = Anchor.PlusMonths(NextSlot + Shift);

    public Money NextRent => Money.Min(Introductory?.Payment ?? MonthlyRent, RentLeft);

    /// <summary>Installments still to fall due.</summary>
    public int Count => CountOf(Introductory, RentLeft, MonthlyRent);

    public RentSchedule AfterNext() => new(
        Anchor, null, NextSlot + (Introductory?.Months ?? 1), Shift, RentLeft - NextRent, MonthlyRent);

    /// <summary>
    /// After an exchange: other rent from the first due date after the day, same anchor, and never an introductory
    /// payment again. Where all of the old rent had fallen due, the months that have passed since are skipped.
    /// </summary>
    public RentSchedule Exchanged(LocalDate on, Money rentLeft, Money monthlyRent)
    {
        var slot = NextSlot;
        while (Anchor.PlusMonths(slot + Shift) <= on) { slot++; }
        return new RentSchedule(Anchor, null, slot, Shift, rentLeft, monthlyRent);
    }

    /// <summary>Moved on by the fewest months that put the next installment on or after the day.</summary>
    public RentSchedule ResumedOn(LocalDate day)
    {
        if (!HasNext) { return this; }
        var months = 0;
        while (Anchor.PlusMonths(NextSlot + Shift + months) < day) { months++; }
        return new RentSchedule(Anchor, Introductory, NextSlot, Shift + months, RentLeft, MonthlyRent);
    }

    /// <summary>How many installments of one rent an amount makes, the last one maybe smaller.</summary>
    public static int Installments(Money rent, Money monthlyRent) =>
        rent.IsPositive ? checked((int)((rent.Cents + monthlyRent.Cents - 1) / monthlyRent.Cents)) : 0;

    /// <summary>How many installments the terms need from zero equity; an introductory payment counts as one.</summary>
    public static int CountFromZero(ContractTerms terms) => CountOf(terms.Introductory.Months > 0 ? terms.Introductory : null, terms.TotalRent, terms.MonthlyRent);

    private static int CountOf(IntroductoryPeriod? introductory, Money rentLeft, Money monthlyRent) => introductory is null
        ? Installments(rentLeft, monthlyRent)
        : 1 + Installments(rentLeft - Money.Min(introductory.Payment, rentLeft), monthlyRent);
}
