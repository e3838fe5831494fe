using System.CommandLine;
using Contracts.Host.Terminal;

return await ContractsCommand.Root().Parse(args).InvokeAsync(
    new InvocationConfiguration { EnableDefaultExceptionHandler = false }).ConfigureAwait(false);
