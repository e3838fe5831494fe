using Contracts.Agreements;

namespace Contracts.History;

/// <summary>Rent credit beyond what the instrument can take, and what of it was spent on sales (M47, M84).</summary>
public sealed partial class AccountFold
{
    /// <summary>What has been spent so far. It stays spent, also where the rent behind it was taken back.</summary>
    internal Money MerchandiseSpent { get; private set; }

    /// <summary>What can still be spent; nothing while more was spent than there is now.</summary>
    internal Money MerchandiseCredit => Money.Max(RentCreditNow - EquityNow(pastDuePaid: false) - MerchandiseSpent, Money.Zero);

    private bool Spend(ContractEvent.MerchandiseCreditSpent spent)
    {
        MerchandiseSpent += spent.Amount;
        return true;
    }
}
