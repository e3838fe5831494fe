using System.CommandLine;
using System.CommandLine.Completions;
using Contracts.Host.Bank;
using Contracts.Host.Compliance;
using Contracts.Host.Counter;
using Contracts.Host.Disputes;
using Contracts.Host.Dossiers;
using Contracts.Host.Fleet;
using Contracts.Host.Households;
using Contracts.Host.Jobs;
using Contracts.Host.MonthEnd;
using Contracts.Host.Papers;
using Contracts.Host.Quoting;
using Contracts.Host.Reconstruct;
using Contracts.Host.Replay;
using Contracts.Host.Running;
using Contracts.Host.Sealing;
using Contracts.Host.Serving;
using Contracts.Host.Serving.SignIn;
using Contracts.Host.Serving.Webhooks;
using Contracts.Host.Story;
using Contracts.Host.TakeOver;

namespace Contracts.Host.Terminal;

/// <summary>The executable `contracts`: every command, in the order a newcomer meets them.</summary>
public static class ContractsCommand
{
    public static RootCommand Root()
    {
        var root = new RootCommand(
            """
            Says exactly where every rent-to-own contract stands, on any day, as known at any moment.

              contracts demo                                      an invented school year, told in the terminal
              contracts load commands.jsonl                       apply a command file
              contracts account C-1042 --on 2026-12-07            one account as of a day
              contracts account C-1042 --on 2026-12-07 --known 2026-12-07   the same, as known then

            Rent-to-own disclosure rules vary by state. Not legal, tax or accounting advice; ask local counsel.
            """)
        {
            DemoCommand.Build(),
            LoadCommand.Build(),
            TakeOverCommand.Build(),
            PreviewCommand.Build(),
            BillCommand.Build(),
            QuoteCommand.Build(),
            QuotesCommand.Build(),
            FindCommand.Build(),
            AccountCommand.Build(),
            AccountsCommand.Build(),
            PortfolioCommand.Build(),
            HistoryCommand.Build(),
            TotalsCommand.Build(),
            StatementCommand.Build(),
            DueCommand.Build(),
            WhereCommand.Build(),
            FleetCommand.Build(),
            ExplainCommand.Build(),
            ExplainReportCommand.Build(),
            CompareCommand.Build(),
            WhatIfCommand.Build(),
            IssueCommand.Build(),
            PapersCommand.Build(),
            ProposalsCommand.Build(),
            BankCommand.Build(),
            ReissueCommand.Build(),
            BooksCommand.Build(),
            ReadyCommand.Build(),
            CloseCommand.Build(),
            PacketCommand.Build(),
            PostingsCommand.Build(),
            ExportJournalCommand.Build(),
            LawCommand.Build(),
            HouseholdCommand.Build(),
            DossierCommand.Build(),
            VerifyCommand.Build(),
            CheckCommand.Build(),
            DisputesCommand.Build(),
            JobsCommand.Build(),
            WatchCommand.Build(),
            StepCommand.Build(),
            ResultsCommand.Build(),
            DifferCommand.Build(),
            ExtractCommand.Build(),
            ReplayCommand.Build(),
            SealCommand.Build(),
            StampCommand.Build(),
            RebuildCommand.Build(),
            SetupCommand.Build(),
            DatabaseCommand.Build(),
            ServeCommand.Build(),
            KeyCommand.Build(),
            UserCommand.Build(),
            WebhookCommand.Build(),
            StopCommand.Build(),
        };
        root.Options.Add(CommonOptions.Database);
        root.Options.Add(CommonOptions.Data);
        root.Options.Add(CommonOptions.Format);
        root.Directives.Add(new SuggestDirective());
        return root;
    }
}
