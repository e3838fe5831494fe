using Contracts.Instruments;
using Contracts.Payments;
using NodaTime;

namespace Contracts.History;

/// <summary>
/// Follows an account while its fold lives through the days, and sees every step in its order. It can look and never
/// change anything; the books are kept by one.
/// </summary>
internal interface IAccountWatcher : ISettlementWatcher
{
    void BeginDay(LocalDate day);

    /// <summary>The contract names its unit: at signing, and again at an exchange.</summary>
    void Names(Instrument named);

    /// <summary>A charge falls due.</summary>
    /// <param name="charge">The charge.</param>
    /// <param name="covers">The day after the period it is for, when it is for one.</param>
    void Charged(Charge charge, LocalDate? covers);

    /// <summary>A charge is taken back or waived; what had paid it has been reopened before.</summary>
    void ChargeReversed(Charge charge);

    /// <summary>A unit that was charged as not returned has come back, whether the fee still stood or was waived.</summary>
    /// <param name="fee">The fee it was charged with.</param>
    void SpareUnitFound(Charge fee);

    /// <summary>An exchange carries this much less equity than there was.</summary>
    void NotCarried(Money amount);

    /// <summary>A fact of the day has been applied, or has no effect in this view.</summary>
    void Happened(Recorded fact, bool took, AccountFold fold);

    void EndDay(AccountFold fold);
}
