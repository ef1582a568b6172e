import { Component, type ComponentChildren } from 'preact';

interface Props {
  readonly name: string;
  readonly line: number;
  /** A new result is shown afresh. */
  readonly result: unknown;
  readonly children: ComponentChildren;
}

/** Keeps an entry that cannot be shown (a column that is not there) from taking the page with it. */
export class EntryBoundary extends Component<Props, { failure: string | null; of: unknown }> {
  override state = { failure: null, of: undefined };

  override componentDidCatch(error: unknown): void {
    this.setState({ failure: error instanceof Error ? error.message : String(error), of: this.props.result });
  }

  override render({ name, line, result, children }: Props) {
    const { failure, of } = this.state;
    if (failure === null || of !== result) return <>{children}</>;
    return (
      <p class="entry-error" role="alert">
        This cannot be shown (<code>{name}</code>, line {line}): {failure}
      </p>
    );
  }
}
