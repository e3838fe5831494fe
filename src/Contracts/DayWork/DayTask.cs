using Contracts.Agreements;
using NodaTime;

namespace Contracts.DayWork;

/// <summary>What a day asks somebody to look at or to do about one contract.</summary>
public enum DayTaskKind
{
    /// <summary>An installment falls due soon.</summary>
    PaymentDue,

    /// <summary>A unit swapped out is to come back soon; after its day the fee told at the swap is charged.</summary>
    UnitDueBack,

    /// <summary>The time in which a returned contract may be had back ends soon.</summary>
    ReinstatementEnds,

    /// <summary>An order was expected to be delivered and is neither told delivered nor cancelled: no rent falls due before.</summary>
    DeliveryUntold,

    /// <summary>A late fee came; the notice of what is past due is made.</summary>
    DefaultNotice,

    /// <summary>One payment is left; the notice of it is made.</summary>
    FinalPaymentNotice,
}

/// <summary>One thing that a day asks for.</summary>
/// <param name="Kind">What.</param>
/// <param name="Contract">About which contract.</param>
/// <param name="On">The day that it is about: when money or a unit is due, a window ends, a fee came.</param>
/// <param name="About">What it is about: a serial number or the id of a charge; null where the day says it.</param>
/// <param name="Amount">The money that it is about, or null.</param>
/// <remarks>
/// Which notices a family is owed, when and in which words, varies by state; none of these is a notice that an act asks for unless counsel says so.
/// </remarks>
public sealed record DayTask(DayTaskKind Kind, string Contract, LocalDate On, string? About, Money? Amount)
{
    /// <summary>The paper that is made for it, or null where a person is told and nothing is made.</summary>
    public PaperKind? Paper => Kind switch
    {
        DayTaskKind.DefaultNotice => PaperKind.DefaultNotice,
        DayTaskKind.FinalPaymentNotice => PaperKind.FinalPayment,
        _ => null,
    };

    /// <summary>The key of the command that makes the paper: the same task asked twice makes one paper.</summary>
    public string Key => $"day:{Kind.Word()}:{Contract}:{About ?? NodaTime.Text.LocalDatePattern.Iso.Format(On)}";
}

/// <summary>The words for the kinds.</summary>
public static class DayTaskKinds
{
    /// <summary>The word of a kind, such as <c>payment-due</c>.</summary>
    public static string Word(this DayTaskKind kind) => kind switch
    {
        DayTaskKind.PaymentDue => "payment-due",
        DayTaskKind.UnitDueBack => "unit-due-back",
        DayTaskKind.ReinstatementEnds => "reinstatement-ends",
        DayTaskKind.DeliveryUntold => "delivery-untold",
        DayTaskKind.DefaultNotice => "default-notice",
        DayTaskKind.FinalPaymentNotice => "final-payment-notice",
        _ => throw new System.Diagnostics.UnreachableException($"No word for {kind}."),
    };
}
