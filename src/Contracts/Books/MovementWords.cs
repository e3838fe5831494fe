using System.Diagnostics;

namespace Contracts.Books;

/// <summary>The words that lists and filters use for the reasons of postings.</summary>
public static class MovementWords
{
    /// <summary>The word of a reason, such as <c>charge-reversed</c>.</summary>
    public static string Word(this Movement movement) => movement switch
    {
        Movement.Charged => "charged",
        Movement.ChargeReversed => "charge-reversed",
        Movement.Settled => "settled",
        Movement.Reopened => "reopened",
        Movement.Received => "received",
        Movement.PaymentReversed => "payment-reversed",
        Movement.Refunded => "refunded",
        Movement.Given => "given",
        Movement.Released => "earned",
        Movement.ReleasedAtEnd => "earned-at-end",
        Movement.WrittenOff => "written-off",
        Movement.Recovered => "recovered",
        Movement.Placed => "placed",
        Movement.BackInStore => "back-in-store",
        Movement.Sold => "sold",
        Movement.Lost => "lost",
        Movement.Found => "found",
        Movement.Earned => "equity-earned",
        Movement.Unearned => "equity-taken-back",
        Movement.Used => "equity-used",
        Movement.Lapsed => "equity-lapsed",
        Movement.Restored => "equity-restored",
        Movement.NotCarried => "equity-not-carried",
        Movement.TaxedOnCost => "taxed-on-cost",
        Movement.Depreciated => "depreciated",
        Movement.Disposed => "disposed",
        Movement.Spent => "merchandise-spent",
        _ => throw new UnreachableException($"No word for {movement}."),
    };
}
