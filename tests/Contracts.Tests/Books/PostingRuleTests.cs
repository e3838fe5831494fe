using Contracts.Books;
using Contracts.Tests.Support;
using Xunit;

namespace Contracts.Tests.Books;

/// <summary>Every posting rule once: a small life, one more line, and exactly what that adds to the books.</summary>
public sealed class PostingRuleTests
{
    private const string Sign = "2026-09-05 sign intro=0x0.00 rent=30.00 price=900.00 tiers= late=5.00/7 cost=400.00\n";

    private const string SignAndPay = Sign + "2026-09-05 pay amount=30.00 method=cash\n";

    [Fact]
    public void Signing_brings_the_first_installment_its_period_and_the_unit() =>
        BookScript.Given("")
            .When(Sign.Trim())
            .ThenLines(
            """
            2026-09-05 DeferredRent Charged -30.00
            2026-09-05 FleetInStore Placed -400.00
            2026-09-05 FleetOnRent Placed 400.00
            2026-09-05 ReceivableInstallments Charged 30.00
            2026-09-05 UnitsContra Placed -1.00
            2026-09-05 UnitsOnRent Placed 1.00
            2026-09-05..2026-10-04 DeferredRent Released 30.00
            2026-09-05..2026-10-04 RentalRevenue Released -30.00
            """);

    [Fact]
    public void Money_received_pays_what_is_due_and_makes_equity() =>
        BookScript.Given(Sign)
            .When("2026-09-05 pay amount=30.00 method=cash")
            .ThenLines(
            """
            2026-09-05 CashDrawer Received 30.00
            2026-09-05 EquityContra Earned -30.00
            2026-09-05 EquityHeld Earned 30.00
            2026-09-05 ReceivableInstallments Settled -30.00
            2026-09-05 UnappliedCredit Received -30.00
            2026-09-05 UnappliedCredit Settled 30.00
            """)
            .ThenBalance("2026-09-05", BookAccount.DeferredRent, "-29.00")
            .ThenBalance("2026-09-14", BookAccount.DeferredRent, "-20.00")
            .ThenBalance("2026-09-14", BookAccount.RentalRevenue, "-10.00")
            .ThenBalance("2026-10-04", BookAccount.DeferredRent, "0.00");

    [Fact]
    public void The_plan_is_deferred_and_earned_beside_the_rent() =>
        BookScript.Given("2026-09-04 sign intro=0x0.00 rent=30.00 price=900.00 tiers= elected=yes start=2026-09-05")
            .When("2026-09-05 bill")
            .ThenLines(
            """
            2026-09-05 DeferredPlan Charged -7.00
            2026-09-05 DeferredRent Charged -30.00
            2026-09-05 ReceivableInstallments Charged 37.00
            2026-09-05 UnitsContra Placed -1.00
            2026-09-05 UnitsOnRent Placed 1.00
            2026-09-05..2026-10-04 DeferredPlan Released 7.00
            2026-09-05..2026-10-04 DeferredRent Released 30.00
            2026-09-05..2026-10-04 PlanRevenue Released -7.00
            2026-09-05..2026-10-04 RentalRevenue Released -30.00
            """)
            .ThenBalance("2026-09-05", BookAccount.DeferredPlan, "-6.77")
            .ThenBalance("2026-09-19", BookAccount.PlanRevenue, "-3.50")
            .ThenBalance("2026-10-04", BookAccount.DeferredPlan, "0.00");

    [Fact]
    public void A_return_in_the_middle_of_a_period_earns_the_rest_of_it_that_day() =>
        BookScript.Given(SignAndPay)
            .When("2026-09-14 return condition=good")
            .ThenLines(
            """
            2026-09-14 DeferredRent ReleasedAtEnd 20.00
            2026-09-14 EquityContra Lapsed 30.00
            2026-09-14 EquityHeld Lapsed -30.00
            2026-09-14 FleetInStore BackInStore 400.00
            2026-09-14 FleetOnRent BackInStore -400.00
            2026-09-14 RentalRevenue ReleasedAtEnd -20.00
            2026-09-14 UnitsContra BackInStore 1.00
            2026-09-14 UnitsOnRent BackInStore -1.00
            2026-09-15>2026-10-04 DeferredRent Released -30.00
            2026-09-15>2026-10-04 RentalRevenue Released 30.00
            """)
            .ThenBalance("2026-09-13", BookAccount.DeferredRent, "-21.00")
            .ThenBalance("2026-09-14", BookAccount.DeferredRent, "0.00")
            .ThenBalance("2026-09-25", BookAccount.DeferredRent, "0.00")
            .ThenBalance("2026-09-25", BookAccount.RentalRevenue, "-30.00");

    [Fact]
    public void An_early_purchase_sells_the_unit_and_earns_the_rest_of_the_rent() =>
        BookScript.Given(SignAndPay)
            .When("2026-09-14 buy amount=870.00 method=card")
            .ThenLines(
            """
            2026-09-14 CardClearing Received 870.00
            2026-09-14 CostOfInstrumentsSold Sold 400.00
            2026-09-14 DeferredRent ReleasedAtEnd 20.00
            2026-09-14 EquityContra Used 30.00
            2026-09-14 EquityHeld Used -30.00
            2026-09-14 FleetOnRent Sold -400.00
            2026-09-14 InstrumentSales Charged -870.00
            2026-09-14 ReceivableSales Charged 870.00
            2026-09-14 ReceivableSales Settled -870.00
            2026-09-14 RentalRevenue ReleasedAtEnd -20.00
            2026-09-14 UnappliedCredit Received -870.00
            2026-09-14 UnappliedCredit Settled 870.00
            2026-09-14 UnitsContra Sold 1.00
            2026-09-14 UnitsOnRent Sold -1.00
            2026-09-15>2026-10-04 DeferredRent Released -30.00
            2026-09-15>2026-10-04 RentalRevenue Released 30.00
            """);

    [Fact]
    public void A_purchase_whose_payment_bounces_brings_the_unit_back_and_defers_nothing_again() =>
        BookScript.Given(SignAndPay + "2026-09-14 buy amount=870.00 method=card")
            .When("2026-09-16 reverse-payment payment=L3 code=entry-error reason=typo")
            .ThenLines(
            """
            2026-09-16 CardClearing PaymentReversed -870.00
            2026-09-16 CostOfInstrumentsSold Found -400.00
            2026-09-16 EquityContra Restored -30.00
            2026-09-16 EquityHeld Restored 30.00
            2026-09-16 FleetOnRent Found 400.00
            2026-09-16 InstrumentSales ChargeReversed 870.00
            2026-09-16 ReceivableSales ChargeReversed -870.00
            2026-09-16 ReceivableSales Reopened 870.00
            2026-09-16 UnappliedCredit PaymentReversed 870.00
            2026-09-16 UnappliedCredit Reopened -870.00
            2026-09-16 UnitsContra Found -1.00
            2026-09-16 UnitsOnRent Found 1.00
            """)
            .ThenBalance("2026-09-16", BookAccount.DeferredRent, "0.00")
            .ThenBalance("2026-09-20", BookAccount.CostOfInstrumentsSold, "0.00");

    [Fact]
    public void The_last_rent_sells_the_unit_at_cost_and_without_a_sale() =>
        BookScript.Given("2026-09-05 sign intro=0x0.00 rent=30.00 price=30.00 tiers= cost=400.00")
            .When("2026-09-05 pay amount=30.00 method=check")
            .ThenLines(
            """
            2026-09-05 ChecksReceived Received 30.00
            2026-09-05 CostOfInstrumentsSold Sold 400.00
            2026-09-05 DeferredRent ReleasedAtEnd 29.00
            2026-09-05 EquityContra Earned -30.00
            2026-09-05 EquityContra Used 30.00
            2026-09-05 EquityHeld Earned 30.00
            2026-09-05 EquityHeld Used -30.00
            2026-09-05 FleetOnRent Sold -400.00
            2026-09-05 ReceivableInstallments Settled -30.00
            2026-09-05 RentalRevenue ReleasedAtEnd -29.00
            2026-09-05 UnappliedCredit Received -30.00
            2026-09-05 UnappliedCredit Settled 30.00
            2026-09-05 UnitsContra Sold 1.00
            2026-09-05 UnitsOnRent Sold -1.00
            2026-09-06>2026-10-04 DeferredRent Released -30.00
            2026-09-06>2026-10-04 RentalRevenue Released 30.00
            """);

    [Fact]
    public void A_loss_charges_the_family_and_writes_the_unit_off() =>
        BookScript.Given(SignAndPay)
            .When("2026-09-14 report-loss kind=lost")
            .ThenLines(
            """
            2026-09-14 DeferredRent ReleasedAtEnd 20.00
            2026-09-14 FleetOnRent Lost -400.00
            2026-09-14 LossCharges Charged -870.00
            2026-09-14 ReceivableLosses Charged 870.00
            2026-09-14 RentalRevenue ReleasedAtEnd -20.00
            2026-09-14 UnitsContra Lost 1.00
            2026-09-14 UnitsLost Lost 400.00
            2026-09-14 UnitsOnRent Lost -1.00
            2026-09-15>2026-10-04 DeferredRent Released -30.00
            2026-09-15>2026-10-04 RentalRevenue Released 30.00
            """);

    [Fact]
    public void A_loss_that_is_paid_leaves_the_unit_lost() =>
        BookScript.Given(SignAndPay + "2026-09-14 report-loss kind=lost")
            .When("2026-09-20 pay amount=870.00 method=ach")
            .ThenLines(
            """
            2026-09-20 BankClearing Received 870.00
            2026-09-20 EquityContra Used 30.00
            2026-09-20 EquityHeld Used -30.00
            2026-09-20 ReceivableLosses Settled -870.00
            2026-09-20 UnappliedCredit Received -870.00
            2026-09-20 UnappliedCredit Settled 870.00
            """)
            .ThenBalance("2026-09-20", BookAccount.UnitsLost, "400.00")
            .ThenBalance("2026-09-20", BookAccount.CostOfInstrumentsSold, "0.00");

    [Fact]
    public void A_loss_paid_on_its_own_day_is_a_loss_too() =>
        BookScript.Given(Sign + "2026-09-05 pay amount=900.00 method=cash")
            .When("2026-09-14 report-loss kind=lost")
            .ThenLines(
            """
            2026-09-14 DeferredRent ReleasedAtEnd 20.00
            2026-09-14 EquityContra Used 30.00
            2026-09-14 EquityHeld Used -30.00
            2026-09-14 FleetOnRent Lost -400.00
            2026-09-14 LossCharges Charged -870.00
            2026-09-14 ReceivableLosses Charged 870.00
            2026-09-14 ReceivableLosses Settled -870.00
            2026-09-14 RentalRevenue ReleasedAtEnd -20.00
            2026-09-14 UnappliedCredit Settled 870.00
            2026-09-14 UnitsContra Lost 1.00
            2026-09-14 UnitsLost Lost 400.00
            2026-09-14 UnitsOnRent Lost -1.00
            2026-09-15>2026-10-04 DeferredRent Released -30.00
            2026-09-15>2026-10-04 RentalRevenue Released 30.00
            """);

    [Fact]
    public void A_lost_unit_that_is_found_comes_back_at_its_cost() =>
        BookScript.Given(SignAndPay + "2026-09-14 report-loss kind=lost")
            .When("2026-09-20 return condition=worn")
            .ThenLines(
            """
            2026-09-20 EquityContra Lapsed 30.00
            2026-09-20 EquityHeld Lapsed -30.00
            2026-09-20 FleetInStore BackInStore 400.00
            2026-09-20 FleetOnRent BackInStore -400.00
            2026-09-20 FleetOnRent Found 400.00
            2026-09-20 LossCharges ChargeReversed 870.00
            2026-09-20 ReceivableLosses ChargeReversed -870.00
            2026-09-20 UnitsContra BackInStore 1.00
            2026-09-20 UnitsContra Found -1.00
            2026-09-20 UnitsLost Found -400.00
            2026-09-20 UnitsOnRent BackInStore -1.00
            2026-09-20 UnitsOnRent Found 1.00
            """);

    [Fact]
    public void A_swap_posts_nothing() =>
        BookScript.Given(SignAndPay)
            .When("2026-09-10 swap serial=HC-2 returnBy=2026-09-12")
            .ThenLines("");

    [Fact]
    public void A_unit_not_brought_back_costs_the_family_its_fee_and_the_shop_its_unit() =>
        BookScript.Given(SignAndPay + "2026-09-10 swap serial=HC-2 returnBy=2026-09-12")
            .When("2026-09-13 bill")
            .ThenLines(
            """
            2026-09-13 FleetInStore Lost -400.00
            2026-09-13 LossCharges Charged -870.00
            2026-09-13 ReceivableLosses Charged 870.00
            2026-09-13 UnitsLost Lost 400.00
            """);

    [Fact]
    public void A_unit_received_late_takes_its_fee_and_its_cost_back() =>
        BookScript.Given(SignAndPay + "2026-09-10 swap serial=HC-2 returnBy=2026-09-12\n2026-09-13 bill")
            .When("2026-09-20 receive-unit serial=HC-1")
            .ThenLines(
            """
            2026-09-20 FleetInStore Found 400.00
            2026-09-20 LossCharges ChargeReversed 870.00
            2026-09-20 ReceivableLosses ChargeReversed -870.00
            2026-09-20 UnitsLost Found -400.00
            """);

    [Fact]
    public void A_unit_received_after_an_exchange_comes_back_at_what_it_stood_for() =>
        BookScript.Given(SignAndPay
                + "2026-09-10 swap serial=HC-2 returnBy=2026-09-12\n2026-09-13 bill\n2026-09-14 exchange price=1200.00 rent=40.00 intro=0x0.00 tiers= cost=700.00")
            .When("2026-09-20 receive-unit serial=HC-1")
            .ThenLines(
            """
            2026-09-20 FleetInStore Found 400.00
            2026-09-20 LossCharges ChargeReversed 870.00
            2026-09-20 ReceivableLosses ChargeReversed -870.00
            2026-09-20 UnitsLost Found -400.00
            """)
            .ThenBalance("2026-09-20", BookAccount.UnitsLost, "0.00");

    [Fact]
    public void An_exchange_brings_one_unit_back_and_places_the_other() =>
        BookScript.Given(SignAndPay)
            .When("2026-09-14 exchange price=1200.00 rent=40.00 intro=0x0.00 tiers= cost=700.00")
            .ThenLines(
            """
            2026-09-14 FleetInStore BackInStore 400.00
            2026-09-14 FleetInStore Placed -700.00
            2026-09-14 FleetOnRent BackInStore -400.00
            2026-09-14 FleetOnRent Placed 700.00
            2026-09-14 UnitsContra BackInStore 1.00
            2026-09-14 UnitsContra Placed -1.00
            2026-09-14 UnitsOnRent BackInStore -1.00
            2026-09-14 UnitsOnRent Placed 1.00
            """);

    [Fact]
    public void Equity_that_an_exchange_cannot_carry_becomes_merchandise_credit() =>
        BookScript.Given(SignAndPay)
            .When("2026-09-14 exchange price=20.00 rent=20.00 intro=0x0.00 tiers= cost=15.00")
            .ThenLines(
            """
            2026-09-14 CostOfInstrumentsSold Sold 15.00
            2026-09-14 DeferredRent ReleasedAtEnd 20.00
            2026-09-14 EquityContra NotCarried 10.00
            2026-09-14 EquityContra Used 20.00
            2026-09-14 EquityHeld NotCarried -10.00
            2026-09-14 EquityHeld Used -20.00
            2026-09-14 FleetInStore BackInStore 400.00
            2026-09-14 FleetInStore Placed -15.00
            2026-09-14 FleetOnRent BackInStore -400.00
            2026-09-14 FleetOnRent Placed 15.00
            2026-09-14 FleetOnRent Sold -15.00
            2026-09-14 MerchandiseCredit Given -10.00
            2026-09-14 MerchandiseCreditGiven Given 10.00
            2026-09-14 RentalRevenue ReleasedAtEnd -20.00
            2026-09-14 UnitsContra BackInStore 1.00
            2026-09-14 UnitsContra Placed -1.00
            2026-09-14 UnitsContra Sold 1.00
            2026-09-14 UnitsOnRent BackInStore -1.00
            2026-09-14 UnitsOnRent Placed 1.00
            2026-09-14 UnitsOnRent Sold -1.00
            2026-09-15>2026-10-04 DeferredRent Released -30.00
            2026-09-15>2026-10-04 RentalRevenue Released 30.00
            """);

    [Fact]
    public void An_exchange_on_the_day_a_purchase_is_undone_brings_the_old_unit_back_at_its_own_cost() =>
        BookScript.Given(SignAndPay + "2026-09-14 buy amount=870.00 method=card\n2026-09-16 reverse-payment payment=L3 code=entry-error reason=typo")
            .When("2026-09-16 exchange price=1200.00 rent=40.00 intro=0x0.00 tiers= cost=700.00")
            .ThenLines(
            """
            2026-09-16 FleetInStore BackInStore 400.00
            2026-09-16 FleetInStore Placed -700.00
            2026-09-16 FleetOnRent BackInStore -400.00
            2026-09-16 FleetOnRent Placed 700.00
            2026-09-16 UnitsContra BackInStore 1.00
            2026-09-16 UnitsContra Placed -1.00
            2026-09-16 UnitsOnRent BackInStore -1.00
            2026-09-16 UnitsOnRent Placed 1.00
            """)
            .ThenBalance("2026-09-16", BookAccount.CostOfInstrumentsSold, "0.00")
            .ThenBalance("2026-09-16", BookAccount.FleetInStore, "-700.00")
            .ThenBalance("2026-09-16", BookAccount.FleetOnRent, "700.00");

    [Fact]
    public void A_step_up_credits_the_share_and_takes_the_unit_back() =>
        BookScript.Given(SignAndPay)
            .When("2026-09-14 step-up share=0.50 sale=2400.00")
            .ThenLines(
            """
            2026-09-14 DeferredRent ReleasedAtEnd 20.00
            2026-09-14 EquityContra Used 30.00
            2026-09-14 EquityHeld Used -30.00
            2026-09-14 FleetInStore BackInStore 400.00
            2026-09-14 FleetOnRent BackInStore -400.00
            2026-09-14 RentalRevenue ReleasedAtEnd -20.00
            2026-09-14 StepUpCredit Given -15.00
            2026-09-14 StepUpCreditGiven Given 15.00
            2026-09-14 UnitsContra BackInStore 1.00
            2026-09-14 UnitsOnRent BackInStore -1.00
            2026-09-15>2026-10-04 DeferredRent Released -30.00
            2026-09-15>2026-10-04 RentalRevenue Released 30.00
            """);

    [Fact]
    public void A_write_off_is_borne_by_what_is_open_oldest_first() =>
        BookScript.Given("2026-09-05 sign intro=0x0.00 rent=30.00 price=900.00 tiers= area=taxed elected=yes")
            .When("2026-09-20 write-off amount=41.00")
            .ThenLines(
            """
            2026-09-13 LateFees Charged -5.00
            2026-09-13 ReceivableFees Charged 5.40
            2026-09-13 SalesTaxPayable:taxed Charged -0.40
            2026-09-20 BadDebts WrittenOff 7.64
            2026-09-20 ReceivablesWrittenOff WrittenOff -41.00
            2026-09-20 SalesTaxOnBadDebts WrittenOff 3.36
            2026-09-20 UncollectibleRent WrittenOff 30.00
            """);

    [Fact]
    public void A_second_write_off_begins_where_the_first_one_ended() =>
        BookScript.Given("2026-09-05 sign intro=0x0.00 rent=30.00 price=900.00 tiers= area=taxed elected=yes\n2026-09-20 write-off amount=20.00")
            .When("2026-09-20 write-off amount=20.00")
            .ThenLines(
            """
            2026-09-20 BadDebts WrittenOff 7.00
            2026-09-20 ReceivablesWrittenOff WrittenOff -20.00
            2026-09-20 SalesTaxOnBadDebts WrittenOff 0.04
            2026-09-20 UncollectibleRent WrittenOff 12.96
            """);

    [Fact]
    public void A_recovery_undoes_a_write_off_in_the_order_it_was_made() =>
        BookScript.Given("2026-09-05 sign intro=0x0.00 rent=30.00 price=900.00 tiers= area=taxed elected=yes\n2026-09-20 write-off amount=41.00")
            .When("2026-09-25 recover amount=10.00")
            .ThenLines(
            """
            2026-09-25 ReceivablesWrittenOff Recovered 10.00
            2026-09-25 SalesTaxOnBadDebts Recovered -2.96
            2026-09-25 UncollectibleRent Recovered -7.04
            """);

    [Fact]
    public void Goodwill_is_given_and_pays_fees_from_an_account_of_its_own() =>
        BookScript.Given(Sign + "2026-09-13 bill")
            .When("2026-09-14 credit amount=8.00 reason=kindness")
            .ThenLines(
            """
            2026-09-14 GoodwillCredit Given -8.00
            2026-09-14 GoodwillCredit Settled 5.00
            2026-09-14 GoodwillGiven Given 8.00
            2026-09-14 ReceivableFees Settled -5.00
            """);

    [Fact]
    public void A_refund_leaves_the_operating_account() =>
        BookScript.Given(Sign + "2026-09-05 pay amount=50.00 method=card")
            .When("2026-09-06 refund amount=15.00")
            .ThenLines(
            """
            2026-09-06 CashOperating Refunded -15.00
            2026-09-06 UnappliedCredit Refunded 15.00
            """);

    [Fact]
    public void A_refunded_payment_that_comes_back_is_reversed_whole_and_the_refund_is_to_be_recovered() =>
        BookScript.Given(Sign + "2026-09-05 pay amount=50.00 method=card\n2026-09-06 refund amount=15.00")
            .When("2026-09-08 reverse-payment payment=L2 code=R01 reason=bank")
            .ThenLines(
            """
            2026-09-08 CardClearing PaymentReversed -50.00
            2026-09-08 EquityContra Unearned 30.00
            2026-09-08 EquityHeld Unearned -30.00
            2026-09-08 ReceivableFees Charged 20.00
            2026-09-08 ReceivableInstallments Reopened 30.00
            2026-09-08 RefundsToRecover Charged 15.00
            2026-09-08 ReturnedPaymentFees Charged -20.00
            2026-09-08 UnappliedCredit Charged -15.00
            2026-09-08 UnappliedCredit PaymentReversed 50.00
            2026-09-08 UnappliedCredit Reopened -30.00
            """);

    [Fact]
    public void A_payment_found_later_takes_the_late_fee_back_with_it() =>
        BookScript.Given(Sign + "2026-09-13 bill")
            .When("2026-09-10 @2026-09-15 pay amount=30.00 method=cash")
            .ThenLines(
            """
            2026-09-10 CashDrawer Received 30.00
            2026-09-10 EquityContra Earned -30.00
            2026-09-10 EquityHeld Earned 30.00
            2026-09-10 ReceivableInstallments Settled -30.00
            2026-09-10 UnappliedCredit Received -30.00
            2026-09-10 UnappliedCredit Settled 30.00
            2026-09-13 LateFees Charged 5.00
            2026-09-13 ReceivableFees Charged -5.00
            """);

    [Fact]
    public void A_waived_fee_is_the_mirror_of_its_charge() =>
        BookScript.Given(Sign + "2026-09-13 bill")
            .When("2026-09-20 waive fee=late:2026-09-05 reason=kindness")
            .ThenLines(
            """
            2026-09-20 LateFees ChargeReversed 5.00
            2026-09-20 ReceivableFees ChargeReversed -5.00
            """);

    [Fact]
    public void Tax_is_owed_to_each_authority_by_the_largest_remainder() =>
        BookScript.Given("")
            .When("2026-09-05 sign intro=0x0.00 rent=20.95 price=900.00 tiers= area=three accessories=10.00")
            .ThenLines(
            """
            2026-09-05 AccessorySales Charged -10.00
            2026-09-05 DeferredRent Charged -20.95
            2026-09-05 ReceivableInstallments Charged 22.68
            2026-09-05 ReceivableSales Charged 10.83
            2026-09-05 SalesTaxPayable:a-city Charged -0.16
            2026-09-05 SalesTaxPayable:a-county Charged -0.39
            2026-09-05 SalesTaxPayable:a-state Charged -2.01
            2026-09-05 UnitsContra Placed -1.00
            2026-09-05 UnitsOnRent Placed 1.00
            2026-09-05..2026-10-04 DeferredRent Released 20.95
            2026-09-05..2026-10-04 RentalRevenue Released -20.95
            """);

    [Fact]
    public void A_delivery_tax_is_owed_when_it_is_taken() =>
        BookScript.Given("")
            .When("2026-09-05 sign intro=0x0.00 rent=30.00 price=900.00 tiers= area=delivery")
            .ThenLines(
            """
            2026-09-05 DeferredRent Charged -30.00
            2026-09-05 ReceivableInstallments Charged 102.00
            2026-09-05 SalesTaxPayable:delivery Charged -72.00
            2026-09-05 UnitsContra Placed -1.00
            2026-09-05 UnitsOnRent Placed 1.00
            2026-09-05..2026-10-04 DeferredRent Released 30.00
            2026-09-05..2026-10-04 RentalRevenue Released -30.00
            """);

    [Fact]
    public void A_return_takes_the_delivery_tax_back_and_keeps_that_of_the_rents_charged() =>
        BookScript.Given("2026-09-05 sign intro=0x0.00 rent=30.00 price=900.00 tiers= area=delivery\n2026-09-05 pay amount=102.00 method=cash")
            .When("2026-09-14 return condition=good")
            .ThenLines(
            """
            2026-09-14 DeferredRent ReleasedAtEnd 20.00
            2026-09-14 EquityContra Lapsed 30.00
            2026-09-14 EquityHeld Lapsed -30.00
            2026-09-14 ReceivableInstallments ChargeReversed -72.00
            2026-09-14 ReceivableInstallments Charged 2.40
            2026-09-14 ReceivableInstallments Reopened 72.00
            2026-09-14 ReceivableInstallments Settled -2.40
            2026-09-14 RentalRevenue ReleasedAtEnd -20.00
            2026-09-14 SalesTaxPayable:delivery ChargeReversed 72.00
            2026-09-14 SalesTaxPayable:delivery Charged -2.40
            2026-09-14 UnappliedCredit Reopened -72.00
            2026-09-14 UnappliedCredit Settled 2.40
            2026-09-14 UnitsContra BackInStore 1.00
            2026-09-14 UnitsOnRent BackInStore -1.00
            2026-09-15>2026-10-04 DeferredRent Released -30.00
            2026-09-15>2026-10-04 RentalRevenue Released 30.00
            """);

    [Fact]
    public void A_unit_is_taxed_on_its_cost_when_it_first_goes_out() =>
        BookScript.Given("")
            .When("2026-09-05 sign intro=0x0.00 rent=30.00 price=900.00 tiers= area=lessor cost=400.00")
            .ThenLines(
            """
            2026-09-05 DeferredRent Charged -30.00
            2026-09-05 FleetInStore Placed -400.00
            2026-09-05 FleetOnRent Placed 400.00
            2026-09-05 ReceivableInstallments Charged 30.00
            2026-09-05 SalesTaxOnCost TaxedOnCost 25.00
            2026-09-05 SalesTaxPayable:lessor TaxedOnCost -25.00
            2026-09-05 UnitsContra Placed -1.00
            2026-09-05 UnitsOnRent Placed 1.00
            2026-09-05..2026-10-04 DeferredRent Released 30.00
            2026-09-05..2026-10-04 RentalRevenue Released -30.00
            """);

    [Fact]
    public void A_used_unit_is_not_taxed_on_its_cost() =>
        BookScript.Given("")
            .When("2026-09-05 sign intro=0x0.00 rent=30.00 price=900.00 tiers= area=lessor cost=400.00 condition=used")
            .ThenLines(
            """
            2026-09-05 DeferredRent Charged -30.00
            2026-09-05 FleetInStore Placed -400.00
            2026-09-05 FleetOnRent Placed 400.00
            2026-09-05 ReceivableInstallments Charged 30.00
            2026-09-05 UnitsContra Placed -1.00
            2026-09-05 UnitsOnRent Placed 1.00
            2026-09-05..2026-10-04 DeferredRent Released 30.00
            2026-09-05..2026-10-04 RentalRevenue Released -30.00
            """);

    [Fact]
    public void A_unit_that_goes_out_again_is_not_taxed_on_its_cost_again() =>
        BookScript.Given("2026-09-05 sign intro=0x0.00 rent=30.00 price=900.00 tiers= area=lessor cost=400.00\n"
                + "2026-09-05 pay amount=30.00 method=cash\n2026-09-14 return condition=good")
            .When("2026-09-20 reinstate")
            .ThenLines(
            """
            2026-09-20 EquityContra Restored -30.00
            2026-09-20 EquityHeld Restored 30.00
            2026-09-20 FleetInStore Placed -400.00
            2026-09-20 FleetOnRent Placed 400.00
            2026-09-20 UnitsContra Placed -1.00
            2026-09-20 UnitsOnRent Placed 1.00
            """);

    [Fact]
    public void A_reinstatement_brings_unit_and_equity_back_and_defers_nothing_again() =>
        BookScript.Given(SignAndPay + "2026-09-14 return condition=good")
            .When("2026-09-20 reinstate")
            .ThenLines(
            """
            2026-09-20 EquityContra Restored -30.00
            2026-09-20 EquityHeld Restored 30.00
            2026-09-20 FleetInStore Placed -400.00
            2026-09-20 FleetOnRent Placed 400.00
            2026-09-20 UnitsContra Placed -1.00
            2026-09-20 UnitsOnRent Placed 1.00
            """)
            .ThenBalance("2026-09-20", BookAccount.DeferredRent, "0.00")
            .ThenBalance("2026-09-25", BookAccount.RentalRevenue, "-30.00");

    [Fact]
    public void An_installment_of_the_day_on_which_a_contract_runs_and_ends_again_is_earned_that_day() =>
        BookScript.Given(SignAndPay + "2026-09-20 return condition=good\n2026-10-05 reinstate")
            .When("2026-10-05 report-loss kind=lost")
            .ThenLines(
            """
            2026-10-05 DeferredRent ReleasedAtEnd 29.03
            2026-10-05 FleetOnRent Lost -400.00
            2026-10-05 LossCharges Charged -840.00
            2026-10-05 ReceivableLosses Charged 840.00
            2026-10-05 RentalRevenue ReleasedAtEnd -29.03
            2026-10-05 UnitsContra Lost 1.00
            2026-10-05 UnitsLost Lost 400.00
            2026-10-05 UnitsOnRent Lost -1.00
            2026-10-06>2026-11-04 DeferredRent Released -30.00
            2026-10-06>2026-11-04 RentalRevenue Released 30.00
            """)
            .ThenBalance("2026-10-05", BookAccount.DeferredRent, "0.00")
            .ThenBalance("2026-10-20", BookAccount.DeferredRent, "0.00");

    [Fact]
    public void Money_goes_to_the_account_of_its_method() =>
        BookScript.Given(Sign)
            .When("2026-09-05 pay amount=30.00 method=voucher")
            .ThenLines(
            """
            2026-09-05 CashOperating Received 30.00
            2026-09-05 EquityContra Earned -30.00
            2026-09-05 EquityHeld Earned 30.00
            2026-09-05 ReceivableInstallments Settled -30.00
            2026-09-05 UnappliedCredit Received -30.00
            2026-09-05 UnappliedCredit Settled 30.00
            """);

    [Fact]
    public void Merchandise_credit_goes_again_when_the_rent_behind_it_is_returned_by_the_bank() =>
        BookScript.Given(SignAndPay + "2026-09-14 exchange price=20.00 rent=20.00 intro=0x0.00 tiers= cost=15.00")
            .When("2026-09-16 reverse-payment payment=L2 code=entry-error reason=typo")
            .ThenLines(
            """
            2026-09-16 CashDrawer PaymentReversed -30.00
            2026-09-16 EquityContra Unearned 20.00
            2026-09-16 EquityContra Used -20.00
            2026-09-16 EquityHeld Unearned -20.00
            2026-09-16 EquityHeld Used 20.00
            2026-09-16 MerchandiseCredit Reopened 10.00
            2026-09-16 MerchandiseCreditGiven Reopened -10.00
            2026-09-16 ReceivableInstallments Reopened 30.00
            2026-09-16 UnappliedCredit PaymentReversed 30.00
            2026-09-16 UnappliedCredit Reopened -30.00
            """);

    [Fact]
    public void A_step_up_that_a_payment_found_later_overtakes_credits_nothing() =>
        BookScript.Given("2026-09-05 sign intro=0x0.00 rent=30.00 price=60.00 tiers= cost=400.00\n"
                + "2026-09-05 pay amount=30.00 method=cash\n2026-10-07 step-up share=0.50 sale=2400.00")
            .When("2026-10-06 @2026-10-08 pay amount=30.00 method=cash")
            .ThenLines(
            """
            2026-10-06 CashDrawer Received 30.00
            2026-10-06 CostOfInstrumentsSold Sold 400.00
            2026-10-06 DeferredRent ReleasedAtEnd 28.06
            2026-10-06 EquityContra Earned -30.00
            2026-10-06 EquityContra Used 60.00
            2026-10-06 EquityHeld Earned 30.00
            2026-10-06 EquityHeld Used -60.00
            2026-10-06 FleetOnRent Sold -400.00
            2026-10-06 ReceivableInstallments Settled -30.00
            2026-10-06 RentalRevenue ReleasedAtEnd -28.06
            2026-10-06 UnappliedCredit Received -30.00
            2026-10-06 UnappliedCredit Settled 30.00
            2026-10-06 UnitsContra Sold 1.00
            2026-10-06 UnitsOnRent Sold -1.00
            2026-10-07 DeferredRent ReleasedAtEnd -27.10
            2026-10-07 EquityContra Used -30.00
            2026-10-07 EquityHeld Used 30.00
            2026-10-07 FleetInStore BackInStore -400.00
            2026-10-07 FleetOnRent BackInStore 400.00
            2026-10-07 RentalRevenue ReleasedAtEnd 27.10
            2026-10-07 StepUpCredit Given 15.00
            2026-10-07 StepUpCreditGiven Given -15.00
            2026-10-07 UnitsContra BackInStore -1.00
            2026-10-07 UnitsOnRent BackInStore 1.00
            2026-10-07>2026-11-04 DeferredRent Released -30.00
            2026-10-07>2026-11-04 RentalRevenue Released 30.00
            2026-10-08>2026-11-04 DeferredRent Released 30.00
            2026-10-08>2026-11-04 RentalRevenue Released -30.00
            """);
}
