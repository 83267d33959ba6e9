"""What a meter should show, place by place and state by state: the parts of one study."""
